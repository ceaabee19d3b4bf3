"""The content of an observation: as a message, in rows of splits files, and read back from its words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

from coldfield.drill.run import Split, Splits
from coldfield.files.day_model import SEEN, SeenCode
from coldfield.message import Message, message
from coldfield.words import ENGLISH, languages, say

_SEEN: dict[SeenCode, Message] = {
    "danger_looked_at": message("seen.danger_looked_at"),
    "leader_named": message("seen.leader_named"),
    "missing_counted": message("seen.missing_counted"),
    "call_made": message("seen.call_made"),
    "others_off_transmit": message("seen.others_off_transmit"),
    "phones_away": message("seen.phones_away"),
    "surface_clues": message("seen.surface_clues"),
    "probe_left_in": message("seen.probe_left_in"),
    "diggers_placed": message("seen.diggers_placed"),
    "head_freed_by_hand": message("seen.head_freed_by_hand"),
}


def observed(about: str, seen: bool | None = None, note: str = "") -> Message:
    """Return the content of an observation: the words of a code, or people's own words as they are.

    Examples
    --------
    >>> say(observed("probe_left_in", False, "B")), say(observed("dug from below"))
    ('probe left in (not seen): B', 'dug from below')
    """
    what = _SEEN.get(about, about)  # type: ignore[call-overload]
    if seen is False:
        if note:
            return message("observation.not_seen_noted", about=what, note=note)
        return message("observation.not_seen", about=what)
    if note:
        return message("observation.noted", about=what, note=note)
    return message("observation.seen", about=what)


def observed_split(row: Mapping[str, Any]) -> Split:
    """Return a stored observation as a row of splits, in English; known words get their code.

    Parameters
    ----------
    row : mapping
        `about`, `seen` (true, false, null), `note`, `searcher`, `burial`, `time_unix_s`, `since_alarm_s`.
    """
    about, seen, noted = row["about"], None, ""
    if about not in _SEEN:
        about, seen, noted = read_observed(about)
    notes = ", ".join(note for note in (noted, row["note"]) if note)
    said = observed(about, seen if row["seen"] is None else row["seen"], notes)
    keys = ("searcher", "burial", "time_unix_s", "since_alarm_s")
    named = {key: row[key] for key in keys}
    return Split(split="observation", note=say(said, ENGLISH), said=said, **named)


def with_observations(splits: Splits) -> Splits:
    """Return splits whose observations have codes in place of known words; own words stay as they are."""
    return Splits(
        rows=tuple(
            replace(row, said=observed(*read_observed(row.note)))
            if row.split == "observation" and row.said is None
            else row
            for row in splits.rows
        )
    )


def read_observed(text: str) -> tuple[str, bool | None, str]:
    """Return what an observation is about (a code if its words are known), whether it was seen, and its note.

    Words are known in every available language. Words can say 'not seen'; otherwise they do not say
    whether it was seen.

    Examples
    --------
    >>> read_observed("probe left in (not seen): B"), read_observed("Dug from below: good")
    (('probe_left_in', False, 'B'), ('Dug from below: good', None, ''))
    """
    for tag in languages():
        for shape, seen in _shapes(tag):
            found = shape.fullmatch(text)
            about = _codes(tag).get(found["about"].strip().casefold()) if found else None
            if found and about is not None:
                return about, seen, found.groupdict().get("note") or ""
    for tag in languages():
        for shape, seen in _shapes(tag):
            found = shape.fullmatch(text) if seen is False else None
            if found:
                return found["about"], False, found.groupdict().get("note") or ""
    return text, None, ""


@cache
def _codes(tag: str) -> dict[str, str]:
    """The words of each code, folded; in English also the code itself."""
    words = {say(said, tag).casefold(): str(code) for code, said in _SEEN.items()}
    return words | ({code.replace("_", " "): str(code) for code in SEEN} if tag == ENGLISH else {})


@cache
def _shapes(tag: str) -> tuple[tuple[re.Pattern[str], bool | None], ...]:
    """The forms of an observation in a language, the most complete first."""
    about, note = "\0a", "\0n"
    shapes: tuple[tuple[Message, bool | None], ...] = (
        (message("observation.not_seen_noted", about=about, note=note), False),
        (message("observation.not_seen", about=about), False),
        (message("observation.noted", about=about, note=note), None),
        (message("observation.seen", about=about), None),
    )
    return tuple((_shape(say(said, tag)), seen) for said, seen in shapes)


def _shape(text: str) -> re.Pattern[str]:
    written = (
        re.escape(text).replace(re.escape("\0a"), "(?P<about>.+?)").replace(re.escape("\0n"), "(?P<note>.*)")
    )
    return re.compile(written, re.DOTALL)
