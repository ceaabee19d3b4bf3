"""Gather the tracks of a run from files or a zip, and guess whose each is."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from typing import Any

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
from coldfield.errors import BadInput
from coldfield.files.budget import Budget
from coldfield.files.track_zip import how_many, members
from coldfield.message import Message, message, size
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.kinds.tracks import MOST_TRACK_BYTES
from coldfield.records.run_list import runs_with_files
from coldfield.records.store import Put, Record, Store

ZIP = (b"PK\x03\x04", b"PK\x05\x06")
MOST_DROPPED_BYTES = 64_000_000
"""The largest accepted zip, bytes. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DroppedTracks:
    """The records of the dropped files, and one line for each unusable file of a zip."""

    tracks: tuple[Record, ...]
    faults: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SameTrack:
    """Another run that has the same file."""

    run_id: str
    name: str
    held_utc: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GatheredTrack:
    """A track of a run with the contents of its file; None until a later list has read the file."""

    record: Record
    contents: FileContents | None
    also_in: tuple[SameTrack, ...]


def drop_tracks(
    database: Database, run_id: str, file_name: str, content: bytes, *, progress: Progress = not_told
) -> DroppedTracks:
    """Keep a recorded file, or each file of a zip, and guess whose they are; a repeat changes nothing.

    `progress` is called with the number of files of a zip read so far. If it raises, nothing is kept.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    BadInput
        If nothing in the file can be used; one line per fault.
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
        kept = [store.get("tracks", track_id) for track_id in dict.fromkeys(ids)]
    return DroppedTracks(tracks=tuple(kept), faults=tuple(faults))


def _unpacked(
    content: bytes, file_name: str, drill: Drill, progress: Progress
) -> tuple[list[tuple[str, bytes, FileContents]], list[Message]]:
    """Return the files that can be read as tracks, with their contents, and one line for each other file."""
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
    """Guess whose the tracks of a run are, except for those a person assigned or a name identifies."""
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
    # A file that is not measured yet is assigned to nobody; the next list measures it.
    if found is None:
        return Dropped(file=name)
    inside = found.names()
    return Dropped(file=name, inside=inside, shareable=bool(inside) and not found.at_once)


def _listed(name: str | None) -> list[str]:
    return [name] if name else []


def _fields_of(whose: FileOwner) -> dict[str, Any]:
    return {"searcher": whose.searcher, "parts": list(whose.parts), "matched": whose.matched}


def _tell(store: Store, track: Record, told: Mapping[str, Any], people: Mapping[str, str | None]) -> Put:
    """Write what was entered for a track; its person follows from its searcher."""
    form = {
        key: track[key]
        for key in ("run_id", "phone_id", "file_name", "size_bytes", "sha256", "clock_shift_s")
    }
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
    """Change whose a track is, or its clock; or confirm a guess.

    Raises
    ------
    UnknownRecord
        If there is no such track.
    Conflict
        If the stored track is not the version the change was based on.
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
    """Return the tracks of a run with the contents of their files; files are read for about `LOOK_S`."""
    found = measures_of_run(database, run_id, for_s=LOOK_S)
    also = _also_in(database, run_id, {track["sha256"] for track, _ in found})
    return [
        GatheredTrack(record=track, contents=contents, also_in=tuple(also.get(track["sha256"], ())))
        for track, contents in found
    ]


def _also_in(database: Database, run_id: str, files: set[str]) -> dict[str, list[SameTrack]]:
    """Return the other runs that have each file, latest first, by the file's fingerprint."""
    also: dict[str, list[SameTrack]] = {}
    with database.read() as connection:
        for row in runs_with_files(connection, files, without=run_id):
            also.setdefault(row.sha256, []).append(
                SameTrack(run_id=row.id, name=row.name, held_utc=row.held_utc)
            )
    return also
