"""The contents of a recorded file: measured once when it arrives, cached, and read by every list.

The result depends on the file, on the ground and the mode of travel of the run's drill, and on the code that
reads and cleans. A digest of everything but the file is kept with it; if the digest differs, the file is
measured again. Archives leave it out: after an import each list measures for at most a few seconds.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import lru_cache
from hashlib import sha256
from math import isfinite

import numpy as np
from pydantic import TypeAdapter
from sqlalchemy import Connection

from coldfield.app.answers import plain
from coldfield.app.debriefs.from_files import FASTEST_M_S
from coldfield.app.debriefs.from_records import everything, sum_of
from coldfield.debrief.tracks.file_owners import at_once
from coldfield.debrief.tracks.track import clean, screen
from coldfield.drill.drill import Drill
from coldfield.drill.recorded import Recorded
from coldfield.errors import BadInput, OutOfModel, StoreTrouble, UnknownRecord
from coldfield.files.budget import Budget
from coldfield.files.drill_json import drill_from
from coldfield.files.track_file import read_track_file
from coldfield.message import Message
from coldfield.records.database import Database
from coldfield.records.measures import keep_measures, kept_measures
from coldfield.records.store import Record, Store

MEASURING = ("debrief", "drill", "files")
"""The packages whose code reads, cleans and measures a track."""

LOOK_S = 1.5
"""How long one list of a run's tracks may measure new files, s. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackInside:
    """One track in a file: its times, its length on the snow, and what keeps it from being used."""

    name: str
    points: int
    from_utc: str | None
    to_utc: str | None
    seconds: float | None
    own_clock: bool
    length_m: float | None
    notes: tuple[Message, ...]
    faults: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FileContents:
    """The contents of a recorded file: `faults` of the file as a whole, and its tracks.

    `at_once`: two of its tracks overlap in time.
    """

    faults: tuple[Message, ...] = ()
    at_once: bool = False
    inside: tuple[TrackInside, ...] = ()

    def names(self) -> tuple[str, ...]:
        """Return the names of the tracks in the file."""
        return tuple(one.name for one in self.inside)


_CONTENTS = TypeAdapter(FileContents)


@lru_cache(maxsize=1)
def _code() -> str:
    return json.dumps([sum_of(name) for name in MEASURING])


def measured_by(drill: Drill) -> str:
    """Return the digest of everything but the file that a track's measures depend on."""
    return sha256("\n".join([_code(), repr(drill.site), drill.conditions.travel]).encode()).hexdigest()


def measure(content: bytes, file_name: str, drill: Drill, budget: Budget | None = None) -> FileContents:
    """Return what is in a recorded file, measured on the ground of a drill.

    Never raises for a bad file: its problems are listed among the faults. `budget` is what remains for the
    archive that the file comes from.
    """
    recorded, faults = read_track_file(content, file_name, budget)
    return FileContents(
        faults=tuple(faults),
        at_once=at_once(recorded),
        inside=tuple(_inside(one, drill) for one in recorded),
    )


def drill_of(store: Store, run: Record) -> tuple[Drill, str]:
    """Return the drill of a run, and the digest of how its tracks are measured."""
    drill = drill_from(store.drill_version(run["drill_id"], run["drill_version"]))
    return drill, measured_by(drill)


def measures_of_run(
    database: Database, run_id: str, *, for_s: float, clock: Callable[[], float] = time.monotonic
) -> list[tuple[Record, FileContents | None]]:
    """Return the tracks of a run with the cached contents of their files.

    Missing or outdated contents are measured now and kept, for at least one file and until `for_s` has
    passed. Files after that have None.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    """
    with database.read() as connection:
        store = Store(connection, database.stamp())
        drill, by = drill_of(store, store.get("runs", run_id))
        tracks = everything(store, "tracks", run_id)
        kept = kept_contents(connection, tracks, by)
    latest = clock() + for_s
    for track in [one for one in tracks if one["id"] not in kept]:
        try:
            with database.read() as connection:
                content = Store(connection, database.stamp()).file("tracks", track["id"])
        except UnknownRecord:
            tracks.remove(track)
            continue
        kept[track["id"]] = measure(content, track["file_name"], drill)
        _keep(database, track["id"], kept[track["id"]], by)
        if clock() > latest:
            break
    return [(track, kept.get(track["id"])) for track in tracks]


def kept_contents(connection: Connection, tracks: Sequence[Record], by: str) -> dict[str, FileContents]:
    """Return, by track, the cached contents of its file, if measured by the same rules."""
    kept = kept_measures(connection, [one["id"] for one in tracks], by)
    return {track_id: _CONTENTS.validate_python(found) for track_id, found in kept.items()}


def keep_contents(connection: Connection, track_id: str, found: FileContents, by: str) -> None:
    """Cache the contents of a track's file for the next list."""
    keep_measures(connection, {track_id: plain(found)}, by)


def _keep(database: Database, track_id: str, found: FileContents, by: str) -> None:
    try:
        with database.write() as connection:
            keep_contents(connection, track_id, found, by)
    except StoreTrouble:
        # The list is shown even if the store is full, busy or read-only; the next list tries again.
        return


def _inside(one: Recorded, drill: Drill) -> TrackInside:
    """Return the contents of a track in a file, and what would prevent its use."""
    times = one.unix_s[np.isfinite(one.unix_s)]
    own = one.clock == "own"
    dated = bool(times.size) and not own
    found = TrackInside(
        name="".join(sign for sign in one.name if sign.isprintable()),
        points=int(one.unix_s.size),
        from_utc=_utc(times.min()) if dated else None,
        to_utc=_utc(times.max()) if dated else None,
        seconds=float(times.max() - times.min()) if times.size else None,
        own_clock=own,
        length_m=None,
        notes=one.notes,
        faults=(),
    )
    try:
        screen(one, drill.site)
        track = clean([one], drill.site, fastest_m_s=FASTEST_M_S[drill.conditions.travel])
    except BadInput as error:
        return replace(found, faults=error.faults)
    except OutOfModel as error:
        return replace(found, faults=(error.message,))
    return replace(found, length_m=track.length_m if isfinite(track.length_m) else None, notes=track.notes)


def _utc(unix_s: float) -> str:
    return datetime.fromtimestamp(float(unix_s), UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
