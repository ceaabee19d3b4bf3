"""Keep a track that a phone sends with a code of a run, for the named person."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from sqlalchemy import func, select

from coldfield.app.debriefs.gather import ZIP, drop_tracks, tell_track
from coldfield.errors import BadInput, Conflict, UnknownRecord
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.kinds import KINDS
from coldfield.records.store import Record, Store

MOST_BYTES = 8_000_000
"""The largest track from a phone, bytes: days of recording. Setting."""

MOST_TRACKS = 60
"""The most tracks that phones may add to a run. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackAcknowledged:
    """The SHA-256 of the kept file."""

    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FromPhone:
    """The sender: the phone's id, its name and its user."""

    id: str
    name: str
    keeper: str


def keep_track_from_phone(
    database: Database, run_id: str, content: bytes, file_name: str, *, searcher: str | None, phone: FromPhone
) -> TrackAcknowledged:
    """Keep a recorded track of a run for a searcher; a repeat changes nothing.

    Raises
    ------
    BadInput
        If it contains no track, or the run has too many; the error reveals nothing about the records.
    """
    digest = sha256(content).hexdigest()
    there = _state(database, run_id, digest)
    if there:
        return TrackAcknowledged(sha256=digest)
    if content[:4] in ZIP:
        raise BadInput(message("fault.phone_track"))
    try:
        dropped = drop_tracks(database, run_id, file_name, content)
        (track,) = dropped.tracks
        _from(database, track, phone)
        _whose(database, track["id"], searcher)
    except (BadInput, UnknownRecord, Conflict, ValueError):
        raise BadInput(message("fault.phone_track")) from None
    return TrackAcknowledged(sha256=digest)


def _state(database: Database, run_id: str, digest: str) -> bool:
    """Return whether a file is kept already; refuse it if the run has too many."""
    track = schema.track
    with database.read() as connection:
        mine = track.c.run_id == run_id
        if connection.execute(select(track.c.id).where(mine, track.c.sha256 == digest)).first():
            return True
        brought = select(func.count()).where(mine, track.c.phone_id.is_not(None))
        if connection.execute(brought).scalar_one() >= MOST_TRACKS:
            raise BadInput(message("fault.phone_track"))
    return False


def _from(database: Database, track: Record, phone: FromPhone) -> None:
    """Note which phone sent a track."""
    with database.write() as connection:
        store = Store(connection, database.stamp())
        table = schema.phone
        if connection.execute(select(table.c.id).where(table.c.id == phone.id)).first() is None:
            told = read_form("phones", {"name": phone.name, "keeper": phone.keeper}).fields()
            store.put("phones", phone.id, told, based_on=None)
        now = store.get("tracks", track["id"])
        fields = {key: now[key] for key in KINDS["tracks"].form.model_fields} | {"phone_id": phone.id}
        store.put("tracks", track["id"], read_form("tracks", fields).fields(), based_on=now["version"])


def _whose(database: Database, track_id: str, searcher: str | None) -> None:
    """Assign a track to the searcher who sent it, if the run has that searcher."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        track = store.get("tracks", track_id)
        run = store.get("runs", track["run_id"])
        drill = store.drill_version(run["drill_id"], run["drill_version"])
    if searcher in [one["id"] for one in drill["searchers"]]:
        told: dict[str, Any] = {"searcher": searcher, "parts": [], "clock_shift_s": None}
        tell_track(database, track_id, told, confirmed=True, based_on=track["version"])
