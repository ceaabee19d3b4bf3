"""People who take part in courses, teach, or own kit."""

from __future__ import annotations

from sqlalchemy import Column, Index

from coldfield.message import message
from coldfield.records.forms import Form, MaybeLine, Name, Prose
from coldfield.records.kind import Kind
from coldfield.records.tables import Sorted, record_table, text_column

person = record_table(
    "person",
    Column("name", Sorted, nullable=False),
    text_column("contact"),
    text_column("notes"),
    Index(None, "name", "id"),
)


class Person(Form):
    """Somebody who takes part in courses, teaches, or owns kit."""

    name: Name
    contact: MaybeLine = ""
    notes: Prose = ""


KIND = Kind(
    name="people",
    one=message("term.kind.person"),
    many=message("term.kinds.people"),
    table=person,
    form=Person,
    sort="name",
    called="name",
    counted=True,
    pages="list and each",
    from_the_first=True,
    words=("name", "contact", "notes"),
    removed_words=message("term.forgotten.person"),
)
