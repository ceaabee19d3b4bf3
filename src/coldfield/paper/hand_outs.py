"""Sheets made from the records: course record, kit sheet, check sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from coldfield.drill.cautions import ALL, LIMITS
from coldfield.message import Message, day, message
from coldfield.paper import blocks
from coldfield.paper.blocks import TICK, Cell
from coldfield.paper.press import Paper, press
from coldfield.words import say, word

SPARE_ROWS, LEAST_ROWS = 2, 12
"""Empty rows of a check sheet for extra people, and its least number of rows."""

MOST_FILLED = 24
"""Up to this number of rows, a check sheet is one page."""

SIGNED_MM = 20.0
"""Height of a sentence and the lines to sign on at the end of a sheet."""

MOST_DAYS = 8
"""Number of days of a course that fit side by side; more go into another table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attended:
    """Somebody's part in a course: runs by date (ISO), and the standards met, each with its date."""

    name: str
    role: str
    runs: Mapping[str, int]
    met: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece of kit in its list; dates are ISO."""

    label: str
    kind: str
    state: str
    owner: str
    next_check: str = ""
    notes: str = ""


def course_pdf(
    name: str, days: Sequence[str], people: Sequence[Attended], *, notes: str = "", paper: Paper = "a4"
) -> bytes:
    """Return the record of a course: attendance, standards met, signatures.

    Parameters
    ----------
    days : sequence of str
        ISO dates, in order.
    """
    span = " – ".join(_day(one) for one in dict.fromkeys((days[0], days[-1]))) if days else ""
    parts = [blocks.title(name, " · ".join(x for x in (word("paper.course_record"), span) if x))]
    for first in range(0, max(len(days), 1), MOST_DAYS):
        part = days[first : first + MOST_DAYS]
        head = [
            word("sheet.who"),
            word("paper.role"),
            *(one[8:10] + "." + one[5:7] + "." for one in part),
            "",
        ]
        rows: list[list[Cell]] = [
            [one.name, _role(one.role), *(_times(one.runs.get(each)) for each in part), None]
            for one in people
        ]
        columns: list[blocks.Column] = [52.0, 26.0, *([15.0] * len(part)), "1fr"]
        parts += [blocks.heading(word("paper.attendance")), blocks.table(head, rows, columns=columns)]
    parts.append(blocks.text(word("paper.attendance_how"), size=7.5))
    met: list[list[Cell]] = [
        [one.name, what, _day(when) if when else ""] for one in people for what, when in one.met
    ]
    if met:
        head = [word("sheet.who"), word("paper.standard"), word("paper.met_on")]
        parts += [
            blocks.heading(word("paper.standards")),
            blocks.table(head, met, columns=[60.0, "1fr", 36.0]),
        ]
    if notes.strip():
        parts += [blocks.heading(word("records.notes")), blocks.text(notes)]
    parts.append(blocks.rest("" if notes.strip() else word("records.notes"), reserve_mm=SIGNED_MM))
    signed = [
        blocks.text(word("paper.record_limits"), size=7.5),
        blocks.signs([word("paper.place_day"), word("paper.leader")]),
    ]
    parts.append(blocks.keep(signed))
    return press(parts, title=name, paper=paper, foot=LIMITS[0])


def _times(runs: int | None) -> Cell:
    return "" if not runs else word("paper.runs", n=runs)


_ROLES = {
    "participant": message("paper.participant"),
    "instructor": message("paper.instructor"),
    "helper": message("paper.helper"),
}
_STATES = {
    "in use": message("kit.inUse"),
    "to check": message("kit.toCheck"),
    "out of use": message("kit.outOfUse"),
    "retired": message("paper.retired"),
}
_KINDS = {"set": message("kit.set"), "probe": message("kit.probe"), "shovel": message("kit.shovel")}


def _role(role: str) -> str:
    return _said(_ROLES, role)


def _said(words: Mapping[str, Message], code: str) -> str:
    return say(words[code]) if code in words else code


def _day(iso: str) -> str:
    return word("sheet.plain", n=day(iso[:10]))


def kit_pdf(pieces: Sequence[Piece], *, today: str, paper: Paper = "a4") -> bytes:
    """Return the kit as a list to check by hand; pieces to check or due come first."""

    def waits(one: Piece) -> bool:
        return one.state == "to check" or bool(one.next_check and one.next_check[:10] <= today)

    parts = [blocks.title(word("paper.kit"), _day(today))]
    groups = (
        (word("paper.kit_waits"), [one for one in pieces if waits(one)]),
        (word("paper.kit_rest"), [one for one in pieces if not waits(one)]),
    )
    head = [
        word("kit.label"), word("kit.kind"), word("kit.state"), word("kit.owner"),
            word("paper.next_check"),
            word("records.notes"), word("paper.seen")]  # fmt: skip
    columns: list[blocks.Column] = ["1.4fr", "auto", "auto", "1.5fr", "auto", "2.6fr", 15.0]
    for heading, those in groups:
        if not those:
            continue
        rows: list[list[Cell]] = [
            [
                one.label,
                _said(_KINDS, one.kind),
                _said(_STATES, one.state),
                one.owner,
                _day(one.next_check) if one.next_check else "",
                one.notes,
                TICK,
            ]
            for one in those
        ]
        parts += [
            blocks.heading(f"{heading} ({len(those)})"),
            blocks.table(head, rows, columns=columns, pad=0.85),
        ]
    if not pieces:
        parts.append(blocks.text(word("paper.no_kit")))
    parts.append(blocks.rest(word("records.notes"), reserve_mm=SIGNED_MM))
    signed = [
        blocks.text(word("pulse.no_clearance"), size=7.5),
        blocks.signs([word("paper.place_day"), word("paper.checked_by")]),
    ]
    parts.append(blocks.keep(signed))
    return press(parts, title=word("paper.kit"), paper=paper, foot=LIMITS[0])


def check_pdf(people: Sequence[tuple[str, str]], *, title: str, paper: Paper = "a4") -> bytes:
    """Return a sheet for the group check, to fill in by hand.

    Parameters
    ----------
    people : sequence of (str, str)
        Names, and the stock number of each person's set if it is known.
    """
    rows: list[list[Cell]] = [[name, stock, None, TICK, TICK, None, TICK, None] for name, stock in people]
    spare = max(SPARE_ROWS, LEAST_ROWS - len(rows))
    rows += [[None, None, None, TICK, TICK, None, TICK, None]] * spare
    head = [
        word("sheet.who"), word("kit.set"), word("paper.battery"), word("paper.no_errors"),
        word("paper.receives"),
        word("paper.reads"), word("paper.transmits"), word("records.notes"),
    ]  # fmt: skip
    columns: list[blocks.Column] = ["2.2fr", "1.1fr", 16.0, 16.0, 18.0, 18.0, 16.0, "1.8fr"]
    how = [
        message("paper.check_1"),
        message("paper.check_2"),
        message("paper.check_3"),
        message("paper.check_4"),
    ]
    # If one page is not enough, rows continue on the next, each high enough for writing.
    fill = len(rows) <= MOST_FILLED
    table = blocks.table(head, rows, columns=columns, fill=fill, tall_mm=None if fill else 9.0)
    parts = [
        blocks.title(word("paper.check"), title),
        blocks.items([say(one) for one in (*how, ALL[7], ALL[8])]),
        blocks.text(word("paper.check_by_hand"), size=7.5),
        table,
    ]
    return press(parts, title=f"{word('paper.check')} – {title}", paper=paper, foot=LIMITS[0])
