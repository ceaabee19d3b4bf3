"""The days of courses."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Column, ColumnElement, Index, func, select

from coldfield.message import message
from coldfield.records.forms import Day, Form, Prose, RecordId
from coldfield.records.kind import Kind, ListedField
from coldfield.records.kinds.courses import course
from coldfield.records.tables import Stamp, record_table, refers_to, text_column

day = record_table(
    "day",
    refers_to("course"),
    Column("date", Stamp, nullable=False),
    refers_to("site", nullable=True),
    text_column("notes"),
    Index(None, "course_id", "date", "id"),
    Index(None, "date", "id"),
    Index(None, "site_id"),
)


class CourseDay(Form):
    """One day of a course."""

    course_id: RecordId
    date: Day
    site_id: RecordId | None = None
    notes: Prose = ""


def _of_course(edge: Any) -> ColumnElement[Any]:
    mine = (day.c.course_id == course.c.id) & day.c.deletion_id.is_(None)
    return select(edge(day.c.date)).where(mine).scalar_subquery()


KIND = Kind(
    name="days",
    one=message("term.kind.day"),
    many=message("term.kinds.days"),
    table=day,
    form=CourseDay,
    sort="date",
    called="date",
    refers={"course_id": "courses", "site_id": "sites"},
    belongs=("course_id",),
    from_the_first=True,
    lists={
        "courses": (
            ListedField("first_date", str | None, _of_course(func.min)),
            ListedField("last_date", str | None, _of_course(func.max)),
        )
    },
)
