"""A debrief to hand out: for the group, or for one person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from math import radians

import numpy as np

from coldfield.debrief.document import DebriefDocument, DebriefedSearcher, DebriefedSite
from coldfield.debrief.findings.finding import Finding
from coldfield.debrief.phases.phase import Phase
from coldfield.drill.cautions import LIMITS
from coldfield.drill.site import Anchor, Origin, Site
from coldfield.errors import UnknownRecord
from coldfield.message import Message, about, duration, message
from coldfield.paper import blocks
from coldfield.paper.blocks import Cell
from coldfield.paper.drawing import EMBER, QUIET, Frame, frame_of, line, ring
from coldfield.paper.ground_plan import FOOT_MM, Labels, ground_shapes, mark_shapes, short
from coldfield.paper.press import MARGIN_MM, SIZES_MM, Block, Paper, pages, press
from coldfield.words import say, word

MOST_FINDINGS = 3
PLANS_MM = (125.0, 90.0, 70.0, 50.0)
"""Heights of the plan to try: the greatest one that needs no extra page is used."""

_PHASES = {
    "signal": message("phase.signal"),
    "coarse": message("phase.coarse"),
    "fine": message("phase.fine"),
    "probe": message("phase.probe"),
    "dig": message("phase.dig"),
}
_DASHES: tuple[str | None, ...] = (None, "dashed", "dotted", "dash-dotted")


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """How long somebody took for a phase in earlier runs: number of times, the best and the median, s."""

    times: int
    best_s: float
    middle_s: float


def debrief_pdf(
    document: DebriefDocument,
    *,
    person: str | None = None,
    past: Mapping[str, Past] | None = None,
    paper: Paper = "a4",
) -> bytes:
    """Return a debrief as a hand-out.

    Parameters
    ----------
    person : str, optional
        The id or name of one searcher; by default the whole group.
    past : mapping of str to Past, optional
        That person's own earlier runs by phase; without it those of the group in the debrief.

    Raises
    ------
    UnknownRecord
        If nobody has that id or name.
    """
    who = None if person is None else _searcher(document, person)
    title = document.title or word("paper.debrief")
    name = title if who is None else f"{who.name or who.id} – {title}"

    def pressed(plan_mm: float) -> bytes:
        parts = debrief_blocks(document, who, past, paper=paper, plan_mm=plan_mm)
        return press(parts, title=name, paper=paper, foot=LIMITS[0])

    highest = pressed(PLANS_MM[0])
    if pages(highest) == 1:
        return highest
    lowest = pressed(PLANS_MM[-1])
    between = (pressed(plan_mm) for plan_mm in PLANS_MM[1:-1])
    return next(made for made in chain([highest], between, [lowest]) if pages(made) == pages(lowest))


def _searcher(document: DebriefDocument, person: str) -> DebriefedSearcher:
    for one in document.searchers:
        if person in (one.id, one.name):
            return one
    known = tuple(one.id for one in document.searchers)
    raise UnknownRecord(message("fault.no_such_searcher", searcher=person, known=known))


def debrief_blocks(
    document: DebriefDocument,
    who: DebriefedSearcher | None,
    past: Mapping[str, Past] | None = None,
    *,
    paper: Paper = "a4",
    plan_mm: float = PLANS_MM[0],
) -> list[Block]:
    """Return the blocks: plan, findings with what to practise, phases against band and past.

    `plan_mm` is the greatest height of the plan.
    """
    people = document.searchers if who is None else (who,)
    title = document.title or word("paper.debrief")
    heading = title if who is None else f"{who.name or who.id}"
    parts = [blocks.title(heading, _under(document, None if who is None else title))]
    if document.simulated:
        parts.append(blocks.text(word("paper.simulated"), bold=True))
    if document.site is not None:
        parts.append(_plan(document, document.site, people, paper=paper, high_mm=plan_mm))
    parts += _found(document, who)
    parts += _phases(document, people, past, alone=who is not None)
    parts.append(blocks.keep([blocks.items([say(one) for one in (*document.cautions[:2], LIMITS[1])])]))
    parts.append(blocks.rest(word("records.notes")))
    return parts


def _under(document: DebriefDocument, title: str | None) -> str:
    names = [one.name or one.id for one in document.searchers]
    when = (document.run.alarm_utc or document.run.zero_utc or "")[:10]
    told = [title or "", _day(when), word("paper.people", n=len(names))]
    return " · ".join(one for one in told if one)


def _day(iso: str) -> str:
    from coldfield.message import day

    return word("sheet.plain", n=day(iso)) if len(iso) == 10 else ""


def _site(site: DebriefedSite) -> Site:
    """The ground for the drawing; its map position does not matter there."""
    return Site(
        origin=Origin(latitude_rad=0.0, longitude_rad=0.0, elevation_m=0.0),
        boundary_m=tuple((x, y) for x, y in site.boundary_m),
        entry_m=site.entry_m or site.boundary_m[0],
        holes_m=tuple(tuple((x, y) for x, y in hole) for hole in site.holes_m),
        slope_rad=radians(site.slope_deg),
        aspect_rad=radians(site.aspect_deg),
        declination_rad=None if site.declination_deg is None else radians(site.declination_deg),
        last_seen_m=site.last_seen_m,
        anchors=tuple(Anchor(name=a.name, position_m=a.position_m) for a in site.anchors),
    )


def _plan(
    document: DebriefDocument,
    told: DebriefedSite,
    people: Sequence[DebriefedSearcher],
    *,
    paper: Paper,
    high_mm: float,
) -> Block:
    """Ground, burials and the walked lines; each person has their own dash and their name."""
    site = _site(told)
    walked = [piece.position_m for one in people if one.track for piece in one.track.pieces]
    seen = [*site.boundary_m, site.entry_m, *(b.position_m for b in document.burials)]
    frame = frame_of(seen, width_mm=SIZES_MM[paper][0] - 2 * MARGIN_MM, most_height_mm=high_mm)
    labels = Labels()
    shapes = ground_shapes(site, frame)
    for k, one in enumerate(people):
        shapes += _walked(one, frame, _DASHES[k % len(_DASHES)])
    shapes += mark_shapes(site, frame, labels)
    for burial in document.burials:
        labels.mark(frame.mm(burial.position_m), 2.0)
    for burial in document.burials:
        x, y = (float(v) for v in frame.mm(burial.position_m))
        shapes += [
            ring((x, y), 1.1, fill=EMBER, width=0.2),
            labels.beside(short(burial.id), x, y, size=9, bold=True),
        ]
    for one in people:
        if one.track and one.track.pieces and one.track.pieces[0].position_m:
            x, y = (float(v) for v in frame.mm(one.track.pieces[0].position_m[0]))
            if 4 < x < frame.width_mm - 4 and 4 < y < frame.height_mm - 4:
                shapes.append(labels.beside(short(one.name or one.id, 16), x, y, size=7))
    code = message("paper.plan_alt", n=len(document.burials), tracks=len(walked))
    return blocks.drawing(shapes, width_mm=frame.width_mm, height_mm=frame.height_mm + FOOT_MM, alt=say(code))


def _walked(one: DebriefedSearcher, frame: Frame, dash: str | None) -> list[Block]:
    if one.track is None:
        return []
    made = []
    for piece in one.track.pieces:
        at = frame.mm(np.asarray(piece.position_m, dtype=np.float64).reshape(-1, 2))
        if len(at) > 1:
            # One point per second is far denser than a printed line can show.
            made.append(line(at[:: max(1, len(at) // 400)], width=0.35, dash=dash, colour=QUIET))
    return made


def _found(document: DebriefDocument, who: DebriefedSearcher | None) -> list[Block]:
    """The three most costly findings, what to practise, and what went well."""
    mine = [one for one in document.findings if who is None or one.searcher in (who.id, None)]
    cost = sorted((one for one in mine if one.of_group() == "cost"), key=_weight)[:MOST_FINDINGS]
    noted = sorted((one for one in mine if one.of_group() == "noted"), key=lambda one: one.exercise is None)
    more = noted[: MOST_FINDINGS - len(cost)]
    good = [one for one in mine if one.of_group() == "good"][:MOST_FINDINGS]
    parts = []
    if cost or more:
        rows: list[list[Cell]] = []
        for k, one in enumerate((*cost, *more), start=1):
            minutes = word("sheet.plain", n=one.cost_words()) if one.minutes else ""
            rows.append([str(k), blocks.two_lines(say(one.text), _practise(one)), minutes])
        head = ["", word("paper.finding"), word("paper.cost")]
        parts += [
            blocks.heading(word("paper.findings")),
            blocks.table(head, rows, columns=[6.0, "1fr", "auto"]),
        ]
    elif not good:
        parts.append(blocks.text(word("paper.no_findings")))
    if good:
        parts += [blocks.heading(word("paper.good")), blocks.items([say(one.text) for one in good])]
    return parts


def _weight(finding: Finding) -> float:
    return -1e9 if finding.kind == "not_found" else -(finding.minutes or 0.0)


def _practise(finding: Finding) -> str:
    if finding.exercise is None:
        return ""
    return say(message("paper.practise", what=finding.exercise.practise))


def _phases(
    document: DebriefDocument,
    people: Sequence[DebriefedSearcher],
    past: Mapping[str, Past] | None,
    *,
    alone: bool,
) -> list[Block]:
    bands = {(band.burial, band.phase): band for band in document.bands}
    group = {
        one.phase: Past(times=one.times, best_s=one.best_s, middle_s=one.p50_s) for one in document.earlier
    }
    before = past if past is not None else group
    rows: list[list[Cell]] = []
    for one in people:
        for phase in one.phases:
            # A band is for the whole dig; a person may have been there for only a part of it.
            shared = phase.phase == "dig" and bool(document.digs)
            band = None if shared else bands.get((phase.burial, phase.phase))
            row: list[Cell] = [phase.burial or "", _phase(phase), _seconds(phase.end_s - phase.start_s)]
            row.append(_span(band.p10, band.p90) if band else "")
            row.append(_before(before.get(phase.phase)))
            rows.append(row if alone else [one.name or one.id, *row])
    for phase in () if alone else document.nobodys_phases:
        band = bands.get((phase.burial, phase.phase))
        took = _seconds(phase.end_s - phase.start_s)
        rows.append(
            ["", phase.burial or "", _phase(phase), took, _span(band.p10, band.p90) if band else "", ""]
        )
    if not rows:
        return []
    # An empty column is left out.
    if not any(row[-1] for row in rows):
        rows = [row[:-1] for row in rows]
    own = word("paper.own_past") if past is not None else word("paper.earlier")
    head = [word("sheet.burial"), word("paper.phase"), word("paper.took"), word("paper.band"), own]
    columns: list[blocks.Column] = ["1.1fr", "1.1fr", "1.1fr", "2.2fr", "2.4fr"]
    if not alone:
        head, columns = [word("sheet.who"), *head], ["1.8fr", *columns]
    head, columns = head[: len(rows[0])], columns[: len(rows[0])]
    return [
        blocks.heading(word("paper.phases")),
        blocks.table(head, rows, columns=columns, pad=0.9 if alone else 0.65),
    ]


def _phase(phase: Phase) -> str:
    named = _PHASES.get(phase.phase)
    return phase.phase if named is None else say(named)


def _seconds(seconds: float) -> str:
    return word("sheet.plain", n=duration(seconds))


def _span(low: float | None, high: float | None) -> str:
    if low is None:
        return ""
    if high is None:
        return say(message("paper.band_open", low=about(low)))
    return say(message("paper.band_span", low=about(low), high=about(high)))


def _before(past: Past | None) -> str:
    if past is None:
        return ""
    told: Message = message(
        "paper.past", n=past.times, middle=duration(past.middle_s), best=duration(past.best_s)
    )
    return say(told)
