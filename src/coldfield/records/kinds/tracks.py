"""Recorded tracks of runs, with their original files."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Literal

from pydantic import Field
from sqlalchemy import (
    JSON,
    Column,
    Connection,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    String,
    Table,
    select,
    text,
    update,
)

from coldfield.files.drill_model import SearcherId
from coldfield.files.wording import TextPlace, Wording
from coldfield.message import message
from coldfield.records.forms import ClockShift, FileName, Form, RecordId, Sha256
from coldfield.records.kind import KeptFile, Kind, Record
from coldfield.records.tables import Id, metadata, newer_version, record_table, refers_to, text_column

MOST_TRACK_BYTES = 32_000_000
"""The largest accepted track file, bytes. Setting."""

track = record_table(
    "track",
    refers_to("run"),
    Column("searcher", String(64), nullable=True),
    refers_to("person", nullable=True),
    refers_to("phone", nullable=True),
    text_column("file_name"),
    Column("size_bytes", Integer, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("matched", String(16), nullable=True),
    Column("parts", JSON, nullable=False, server_default=text("'[]'")),
    Column("clock_shift_s", Float(53), nullable=True),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
    Index(None, "person_id"),
    Index(None, "phone_id"),
)


original = Table(
    "original",
    metadata,
    Column("track_id", Id, ForeignKey("track.id"), primary_key=True),
    Column("content", LargeBinary, nullable=False),
)


track_measure = Table(
    "track_measure",
    metadata,
    Column("track_id", Id, ForeignKey("track.id", ondelete="CASCADE"), primary_key=True),
    Column("measured_by", String(64), nullable=False),
    Column("document", JSON, nullable=False),
)
"""What was found in a track's file; recomputed if it is missing or was measured in another way."""


class TrackTold(Form):
    """Whose a recorded track is, and how far its clock is off.

    `searcher` is the owner of the file; if it holds several tracks, `parts` gives the owner of each in turn
    (null: nobody's, left out). `clock_shift_s` is added to its clock.
    """

    searcher: SearcherId | None = None
    parts: Annotated[list[SearcherId | None], Field(max_length=60)] = []
    clock_shift_s: ClockShift | None = None


class Track(TrackTold):
    """What is known about a recorded track; the file itself is kept as it came.

    `matched` says how its searcher is known: 'told', or guessed from the 'file name', the 'track
    name', or because nobody else was left ('left over'). A track marked as nobody's is left out.
    `phone_id` is the phone that sent it with a code of the run.
    """

    run_id: RecordId
    person_id: RecordId | None = None
    phone_id: RecordId | None = None
    matched: Literal["told", "file name", "track name", "left over"] | None = None
    file_name: FileName
    size_bytes: Annotated[int, Field(ge=1, le=MOST_TRACK_BYTES)]
    sha256: Sha256


def follow_run(connection: Connection, run: Record, now_utc: str) -> None:
    """Assign a track to a person if its searcher is recorded as that person."""
    people = {one["searcher"]: one["person_id"] for one in run["searchers"]}
    query = select(track.c.id, track.c.searcher, track.c.person_id)
    query = query.where(track.c.run_id == run["id"], track.c.deletion_id.is_(None))
    for row in connection.execute(query.where(track.c.searcher.is_not(None))).all():
        person_id = people.get(row.searcher)
        if person_id != row.person_id:
            change = update(track).where(track.c.id == row.id)
            connection.execute(
                change.values(person_id=person_id, **newer_version(connection, track, now_utc))
            )


class _Tracks(Kind):
    def searchers(self, row: Mapping[str, Any]) -> Sequence[str | None]:
        """Return the owner of the file, and of each track in it."""
        return [row["searcher"], *json.loads(row["parts"])]


_RECORD, _CODE = TextPlace(Wording.RECORD), TextPlace(Wording.CODE)

KIND = _Tracks(
    name="tracks",
    one=message("term.kind.track"),
    many=message("term.kinds.tracks"),
    table=track,
    form=Track,
    sort="created_utc",
    called="file_name",
    refers={"run_id": "runs", "person_id": "people", "phone_id": "phones"},
    belongs=("run_id",),
    goes_with="run_id",
    personal=True,
    by_hand=False,
    from_the_first=True,
    file=KeptFile(original, "track_id", MOST_TRACK_BYTES),
    follows={"runs": follow_run},
    texts_beside={
        original: {"track_id": _RECORD},
        track_measure: {"track_id": _RECORD, "measured_by": _CODE, "document": _CODE},
    },
    found_again=(track_measure,),
    removed_words=message("term.forgotten.tracks"),
)
