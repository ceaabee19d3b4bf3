"""Phones that kept time in the snow."""

from __future__ import annotations

from sqlalchemy import Index

from coldfield.message import message
from coldfield.records.forms import Form, MaybeLine
from coldfield.records.kind import Kind
from coldfield.records.tables import record_table, text_column

phone = record_table(
    "phone",
    text_column("name"),
    text_column("keeper"),
    Index(None, "created_utc", "id"),
)


class Phone(Form):
    """A phone that kept time in the snow; `keeper` is who had it."""

    name: MaybeLine = ""
    keeper: MaybeLine = ""


KIND = Kind(
    name="phones",
    one=message("term.kind.phone"),
    many=message("term.kinds.phones"),
    table=phone,
    form=Phone,
    sort="created_utc",
    called="name",
)
