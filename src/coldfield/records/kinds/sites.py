"""Practice grounds."""

from __future__ import annotations

from sqlalchemy import JSON, Column, Index

from coldfield.files.drill_model import SitePart
from coldfield.message import message
from coldfield.records.forms import Form, Line, Prose
from coldfield.records.kind import Kind
from coldfield.records.tables import Sorted, record_table, text_column

site = record_table(
    "site",
    Column("name", Sorted, nullable=False),
    text_column("notes"),
    Column("document", JSON(none_as_null=True), nullable=True),
    Index(None, "name", "id"),
)


class Site(Form):
    """A practice ground; `document` is the key `site` of a drill file."""

    as_given = ("document",)

    name: Line
    notes: Prose = ""
    document: SitePart | None = None


KIND = Kind(
    name="sites",
    one=message("term.kind.site"),
    many=message("term.kinds.sites"),
    table=site,
    form=Site,
    sort="name",
    called="name",
    counted=True,
    from_the_first=True,
    heavy=("document",),
    words=("name", "notes"),
)
