"""Gather the splits and observations of a run from CSV."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from coldfield.app.debriefs.from_records import everything, people_names
from coldfield.app.debriefs.to_check import lines_again, split_of
from coldfield.drill.run import Split
from coldfield.errors import BadInput
from coldfield.files.json_text import decode_text
from coldfield.files.observed import read_observed
from coldfield.files.places import line
from coldfield.files.run_csv import MOST_FAULTS, read_split_rows
from coldfield.message import Message, message
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.store import Store

MOST_SPLITS_BYTES = 4_000_000
Missing = Literal["fault.has_no_searcher", "fault.has_no_burial"]
MOST_KEPT_ROWS = 2000
"""The most rows of splits kept for one run; a drill has a few dozen. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitRow:
    """One row of a CSV of splits with its line number; searcher and burial are ids."""

    line: int
    split: str
    searcher: str | None
    burial: str | None
    time_unix_s: float | None
    since_alarm_s: float | None
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitFile:
    """The contents of a CSV of splits; if there are faults, nothing can be kept.

    `again` holds the lines of rows that repeat a split of the run or an earlier row of the file.
    """

    rows: tuple[SplitRow, ...]
    faults: tuple[Message, ...]
    again: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSplits:
    """The number of rows written, and of rows that were in the records already."""

    kept: int
    there: int


def read_split_file(database: Database, run_id: str, content: bytes) -> SplitFile:
    """Read splits and observations for a run from CSV; keep nothing.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    """
    with database.read() as connection:
        return _read_split_file(Store(connection, database.stamp()), run_id, content)


def _read_split_file(store: Store, run_id: str, content: bytes) -> SplitFile:
    run = store.get("runs", run_id)
    drill = store.drill_version(run["drill_id"], run["drill_version"])
    try:
        text = decode_text(content, "splits", most_bytes=MOST_SPLITS_BYTES)
        rows, wrong_rows = read_split_rows(text)
    except BadInput as error:
        return SplitFile(rows=(), faults=error.faults)
    people = people_names(store, run)
    names = {one["name"].casefold(): one["id"] for one in drill["searchers"]}
    names |= {name.casefold(): who for who, name in people.items()}
    names |= {one["id"].casefold(): one["id"] for one in drill["searchers"]}
    burials = run["as_buried"] if run["as_buried"] is not None else drill["burials"]
    places = {one["id"].casefold(): one["id"] for one in burials}
    named = []
    faults = list(wrong_rows)
    for number, row in rows:
        who, wrong = _named(row.searcher, names, "fault.has_no_searcher", "searcher")
        where, amiss = _named(row.burial, places, "fault.has_no_burial", "burial")
        named.append(_row(row, number, searcher=who, burial=where))
        found = [*wrong, *amiss, *(_too_long(row) or _not_as_kept(named[-1], run_id))]
        faults += [fault.at(line(number)) for fault in found]
    if len(rows) > MOST_KEPT_ROWS:
        faults.append(message("fault.most_rows", n=len(rows), most=MOST_KEPT_ROWS))
    there = [split_of(row) for row in everything(store, "splits", run_id)]
    brought = [(row.line, _as_split(row)) for row in named]
    return SplitFile(rows=tuple(named), faults=tuple(faults[:MOST_FAULTS]), again=lines_again(there, brought))


def _as_split(row: SplitRow) -> Split:
    return Split(
        split=row.split,
        searcher=row.searcher,
        burial=row.burial,
        time_unix_s=row.time_unix_s,
        since_alarm_s=row.since_alarm_s,
        note=row.note,
    )


def _named(
    name: str | None, known: Mapping[str, str], code: Missing, column: str
) -> tuple[str | None, list[Message]]:
    if name is None or name.casefold() in known:
        return (known[name.casefold()] if name is not None else None), []
    there = tuple(sorted(set(known.values()))) or (message("term.none"),)
    return None, [message(code, name=name[:40], known=there).at(column)]


def _row(row: Split, line: int, *, searcher: str | None, burial: str | None) -> SplitRow:
    return SplitRow(
        line=line,
        split=row.split,
        searcher=searcher,
        burial=burial,
        time_unix_s=row.time_unix_s,
        since_alarm_s=row.since_alarm_s,
        note=row.note,
    )


def _too_long(row: Split) -> list[Message]:
    faults = []
    if len(row.split) > 64:
        faults.append(message("fault.split_too_long").at("split"))
    if len(row.note) > 200:
        faults.append(message("fault.note_too_long").at("note"))
    if any(not c.isprintable() for c in row.split + row.note):
        faults.append(message("fault.not_printing"))
    return faults


def _not_as_kept(row: SplitRow, run_id: str) -> list[Message]:
    """Return the faults that the row would have as a record."""
    try:
        read_form(*_record_of(row, run_id))
    except BadInput as error:
        return [_in_csv(fault) for fault in error.faults]
    return []


def _in_csv(fault: Message) -> Message:
    """Return a fault with its key replaced by the name of the column."""
    place = tuple("time" if part == "time_unix_s" else part for part in fault.place)
    return replace(fault, place=place)


def keep_split_file(database: Database, run_id: str, content: bytes) -> KeptSplits:
    """Keep the rows of a CSV as splits and observations, all or none; a repeat changes nothing.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    BadInput
        If anything in the file is wrong; one line per fault.
    """
    with database.write() as connection:
        store = Store(connection, database.stamp())
        file = _read_split_file(store, run_id, content)
        if file.faults:
            raise BadInput(file.faults)
        there: dict[str, list[str]] = {}
        for kind in ("splits", "observations"):
            for record in everything(store, kind, run_id):
                there.setdefault(_said(kind, record), []).append(record["id"])
        kept = 0
        for row in file.rows:
            kind, told = _record_of(row, run_id)
            fields = read_form(kind, told).fields()
            said = _said(kind, fields)
            if there.get(said):
                there[said].pop()
                continue
            store.put(kind, str(uuid.uuid4()), fields, based_on=None)
            kept += 1
    return KeptSplits(kept=kept, there=len(file.rows) - kept)


def _record_of(row: SplitRow, run_id: str) -> tuple[str, dict[str, Any]]:
    told = {"run_id": run_id, "searcher": row.searcher, "burial": row.burial}
    moment = {"time_unix_s": row.time_unix_s, "since_alarm_s": row.since_alarm_s}
    if row.split == "observation":
        about, seen, note = read_observed(row.note)
        return "observations", {**told, **moment, "about": about, "seen": seen, "note": note}
    return "splits", {**told, **moment, "split": row.split, "note": row.note}


_SAID = ("split", "about", "searcher", "burial", "time_unix_s", "since_alarm_s", "note")


def _said(kind: str, fields: Mapping[str, Any]) -> str:
    told = dict(fields)
    if kind == "observations" and not told["note"]:
        # An observation kept as text, before its text was recognised as a code, is the same one.
        told["about"], _, told["note"] = read_observed(told["about"])
    return json.dumps([kind, *(told.get(key) for key in _SAID)])
