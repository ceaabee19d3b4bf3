"""Courses; their days and participants are separate records."""

from __future__ import annotations

from sqlalchemy import Column, Index

from coldfield.message import message
from coldfield.records.forms import Form, Line, Prose
from coldfield.records.kind import Kind
from coldfield.records.tables import Sorted, record_table, text_column

course = record_table(
    "course",
    Column("name", Sorted, nullable=False),
    text_column("notes"),
)
Index("ix_course_created_utc_id", course.c.created_utc, course.c.id)


class Course(Form):
    """A course; its days and participants are separate records."""

    name: Line
    notes: Prose = ""


KIND = Kind(
    name="courses",
    one=message("term.kind.course"),
    many=message("term.kinds.courses"),
    table=course,
    form=Course,
    sort="created_utc",
    descending=True,
    called="name",
    counted=True,
    pages="list and each",
    from_the_first=True,
    words=("name", "notes"),
)
