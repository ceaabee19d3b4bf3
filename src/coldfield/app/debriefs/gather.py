"""Gather what a run left: recorded tracks as files or a zip, splits as CSV, whose each track is."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from hashlib import sha256
from typing import Any, Literal

from coldfield.app.debriefs.from_records import everything, people_names
from coldfield.app.debriefs.track_measures import (
    LOOK_S,
    FileContents,
    drill_of,
    keep_contents,
    kept_contents,
    measure,
    measures_of_run,
)
from coldfield.app.jobs.stages import Progress, Stages, not_told
from coldfield.debrief.tracks.file_owners import Dropped, FileOwner, guess_owners
from coldfield.drill.drill import Drill
from coldfield.drill.run import Split
from coldfield.errors import BadInput
from coldfield.files.budget import Budget
from coldfield.files.json_text import decode_text
from coldfield.files.observed import read_observed
from coldfield.files.places import line
from coldfield.files.run_csv import MOST_FAULTS, read_split_rows
from coldfield.files.track_zip import how_many, members
from coldfield.message import Message, message, size
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.kinds.tracks import MOST_TRACK_BYTES
from coldfield.records.store import Put, Record, Store
from coldfield.records.stored import StoredTrack

ZIP = (b"PK\x03\x04", b"PK\x05\x06")
MOST_DROPPED_BYTES = 64_000_000
"""The largest zip that is taken, bytes. Setting."""

MOST_SPLITS_BYTES = 4_000_000
Missing = Literal["fault.has_no_searcher", "fault.has_no_burial"]
MOST_KEPT_ROWS = 2000
"""Rows of splits kept for one run; a drill has some dozens. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DroppedTracks:
    """What was kept of a dropped file, and one line for each file of a zip that cannot be used."""

    tracks: tuple[StoredTrack, ...]  # type: ignore[valid-type]
    faults: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GatheredTrack:
    """A track of a run with what is in its file; None where it is still to be read, by the next list."""

    record: Record
    contents: FileContents | None


# --- tracks -----------------------------------------------------------------------------------------


def drop_tracks(
    database: Database, run_id: str, file_name: str, content: bytes, *, progress: Progress = not_told
) -> DroppedTracks:
    """Keep a recorded file, or each file of a zip, and guess whose they are; again changes nothing.

    `progress` is told how many files of a zip were read; what it raises leaves everything as it was.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    BadInput
        If nothing in it can be used; one line per fault.
    """
    with database.read() as connection:
        store = Store(connection, database.stamp())
        drill, by = drill_of(store, store.get("runs", run_id))
    files, faults = _unpacked(content, file_name, drill, progress)
    if not files:
        raise BadInput(faults)
    measures_of_run(database, run_id, for_s=LOOK_S)
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.get("runs", run_id)
        there = {one["sha256"]: one["id"] for one in everything(store, "tracks", run_id)}
        ids = []
        for name, data, found in files:
            digest = sha256(data).hexdigest()
            if digest not in there:
                there[digest] = _keep(store, run_id, name, data, digest)
                keep_contents(connection, there[digest], found, by)
            ids.append(there[digest])
        match_tracks(store, run_id)
        kept = [StoredTrack.model_validate(store.get("tracks", one)) for one in dict.fromkeys(ids)]
    return DroppedTracks(tracks=tuple(kept), faults=tuple(faults))


def _unpacked(
    content: bytes, file_name: str, drill: Drill, progress: Progress
) -> tuple[list[tuple[str, bytes, FileContents]], list[Message]]:
    """The files that can be read as tracks, with what is in them, and one line for each that cannot."""
    given: Iterable[tuple[str, bytes | BadInput]] = [(file_name, content)]
    total = 0
    if content[:4] in ZIP:
        given, total = members(content, file_name), how_many(content, file_name)
    files: list[tuple[str, bytes, FileContents]] = []
    faults: list[Message] = []
    reading, budget = Stages(progress, {"reading": total}).at("reading"), Budget()
    for number, (name, data) in enumerate(given):
        budget.meanwhile = partial(reading, number, total)
        budget.meanwhile()
        if isinstance(data, BadInput):
            faults += data.placed()
            continue
        if len(data) > MOST_TRACK_BYTES:
            faults.append(message("fault.larger_than_run", most=size(MOST_TRACK_BYTES)).at(name))
            continue
        found = measure(data, name, drill, budget)
        if found.inside:
            files.append((name, data, found))
        faults += found.faults
        if not found.inside and not found.faults:
            faults.append(message("fault.no_track_inside").at(name))
    return files, faults


def _keep(store: Store, run_id: str, name: str, data: bytes, digest: str) -> str:
    track_id = str(uuid.uuid4())
    cleaned = "".join(c for c in name if c.isprintable() and c not in "/\\")
    stem, dot, ending = cleaned.rpartition(".")
    short = cleaned if len(cleaned) <= 120 else f"{stem[: 110 - len(ending[:8])]}{dot}{ending[:8]}"
    told = {"run_id": run_id, "file_name": short or "track", "size_bytes": len(data), "sha256": digest}
    store.put("tracks", track_id, read_form("tracks", told).fields(), based_on=None)
    store.keep_file("tracks", track_id, data)
    return track_id


def match_tracks(store: Store, run_id: str) -> None:
    """Guess whose the tracks of a run are, but for those that were told or are known by a name."""
    run = store.get("runs", run_id)
    drill = store.drill_version(run["drill_id"], run["drill_version"])
    names = people_names(store, run)
    searchers = {one["id"]: [one["name"], *_listed(names.get(one["id"]))] for one in drill["searchers"]}
    tracks = everything(store, "tracks", run_id)
    kept = kept_contents(store.connection, tracks, drill_of(store, run)[1])
    dropped = [_dropped(track, kept.get(track["id"])) for track in tracks]
    people = {one["searcher"]: one["person_id"] for one in run["searchers"]}
    for track, whose in zip(tracks, guess_owners(dropped, searchers), strict=True):
        if whose.matched != "told":
            _tell(store, track, _fields_of(whose), people)


def _dropped(track: Record, found: FileContents | None) -> Dropped:
    name, matched = track["file_name"], track["matched"]
    if matched in ("told", "file name", "track name"):
        whose = FileOwner(searcher=track["searcher"], parts=tuple(track["parts"]), matched=matched)
        return Dropped(file=name, known=whose)
    if matched == "left over":
        return Dropped(file=name, shareable=True)
    # A file that is not measured yet is given to nobody; the next list measures it.
    if found is None:
        return Dropped(file=name)
    inside = found.names()
    return Dropped(file=name, inside=inside, shareable=bool(inside) and not found.at_once)


def _listed(name: str | None) -> list[str]:
    return [name] if name else []


def _fields_of(whose: FileOwner) -> dict[str, Any]:
    return {"searcher": whose.searcher, "parts": list(whose.parts), "matched": whose.matched}


def _tell(store: Store, track: Record, told: Mapping[str, Any], people: Mapping[str, str | None]) -> Put:
    """Write what is told of a track; its person follows from its searcher."""
    form = {key: track[key] for key in ("run_id", "file_name", "size_bytes", "sha256", "clock_shift_s")}
    person_id = people.get(told["searcher"]) if told["searcher"] is not None else None
    fields = read_form("tracks", {**form, **told, "person_id": person_id}).fields()
    return store.put("tracks", track["id"], fields, based_on=track["version"])


def tell_track(
    database: Database,
    track_id: str,
    told: Mapping[str, Any],
    *,
    confirmed: bool = False,
    based_on: int | None,
) -> Put:
    """Change what is told of a track: whose it is, its clock; or confirm what was guessed.

    Raises
    ------
    UnknownRecord
        If there is no such track.
    Conflict
        If the stored track is not the one the change was made on.
    BadInput
        If the run's drill has no such searcher.
    """
    with database.read() as connection:
        run_id = Store(connection, database.stamp()).get("tracks", track_id)["run_id"]
    measures_of_run(database, run_id, for_s=LOOK_S)
    with database.write() as connection:
        store = Store(connection, database.stamp())
        track = store.get("tracks", track_id)
        run = store.get("runs", track["run_id"])
        drill = store.drill_version(run["drill_id"], run["drill_version"])
        known = [one["id"] for one in drill["searchers"]]
        named = [
            ("searcher", told["searcher"]),
            *((f"parts[{i}]", who) for i, who in enumerate(told["parts"])),
        ]
        faults = [
            message("fault.has_no_searcher", name=who, known=tuple(known)).at(where)
            for where, who in named
            if who is not None and who not in known
        ]
        if told["searcher"] is not None and told["parts"]:
            faults.append(message("fault.whole_or_parts").at("parts"))
        if faults:
            raise BadInput(faults)
        same = all(track[key] == told[key] for key in ("searcher", "parts"))
        matched = track["matched"] if same and not confirmed else "told"
        people = {one["searcher"]: one["person_id"] for one in run["searchers"]}
        moved = {**track, "clock_shift_s": told["clock_shift_s"], "version": based_on}
        whose = {"searcher": told["searcher"], "parts": told["parts"], "matched": matched}
        put = _tell(store, moved, whose, people)
        match_tracks(store, track["run_id"])
        return put


def tracks_of_run(database: Database, run_id: str) -> list[GatheredTrack]:
    """Return the tracks of a run, each with what is in its file; files are read for `LOOK_S` at most."""
    return [
        GatheredTrack(record=track, contents=found)
        for track, found in measures_of_run(database, run_id, for_s=LOOK_S)
    ]


# --- splits -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitRow:
    """One row of a CSV of splits with its line, its searcher and burial by id."""

    line: int
    split: str
    searcher: str | None
    burial: str | None
    time_unix_s: float | None
    since_alarm_s: float | None
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitFile:
    """What a CSV of splits holds; with faults nothing of it can be kept."""

    rows: tuple[SplitRow, ...]
    faults: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSplits:
    """How many rows were written, and how many the records held already."""

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
    return SplitFile(rows=tuple(named), faults=tuple(faults[:MOST_FAULTS]))


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
    """What the form of the record says that the row would become: the same as when it is kept."""
    try:
        read_form(*_record_of(row, run_id))
    except BadInput as error:
        return [_in_csv(fault) for fault in error.faults]
    return []


def _in_csv(fault: Message) -> Message:
    """The same with its key called as the column is."""
    place = tuple("time" if part == "time_unix_s" else part for part in fault.place)
    return replace(fault, place=place)


def keep_split_file(database: Database, run_id: str, content: bytes) -> KeptSplits:
    """Keep the rows of a CSV as splits and observations: all of them or none; again changes nothing.

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
        # One that was kept in words, before its code was known from them, is the same one.
        told["about"], _, told["note"] = read_observed(told["about"])
    return json.dumps([kind, *(told.get(key) for key in _SAID)])
