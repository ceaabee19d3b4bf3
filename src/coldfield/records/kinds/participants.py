"""The people who take part in a course."""

from __future__ import annotations

from typing import Literal

from sqlalchemy import Column, Index, String

from coldfield.message import message
from coldfield.records.forms import Form, RecordId
from coldfield.records.kind import Kind
from coldfield.records.tables import record_table, refers_to

participant = record_table(
    "participant",
    refers_to("course"),
    refers_to("person"),
    Column("role", String(16), nullable=False),
    Index(None, "person_id", "id"),
)
Index(
    "uq_participant_course_id_person_id",
    participant.c.course_id,
    participant.c.person_id,
    unique=True,
    sqlite_where=participant.c.deletion_id.is_(None),
    postgresql_where=participant.c.deletion_id.is_(None),
)


class Participant(Form):
    """A person's part in a course."""

    course_id: RecordId
    person_id: RecordId
    role: Literal["participant", "instructor", "helper"] = "participant"


KIND = Kind(
    name="participants",
    one=message("term.kind.participant"),
    many=message("term.kinds.participants"),
    table=participant,
    form=Participant,
    sort="id",
    refers={"course_id": "courses", "person_id": "people"},
    belongs=("course_id",),
    personal=True,
    from_the_first=True,
    unique=("course_id", "person_id"),
    removed_words=message("term.forgotten.participants"),
)
