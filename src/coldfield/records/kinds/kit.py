"""Sets, probes and shovels by their stock number."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from sqlalchemy import JSON, Column, Index, String

from coldfield.message import message
from coldfield.records.forms import Form, Label, Prose, RecordId
from coldfield.records.kind import Kind
from coldfield.records.kinds.people import person
from coldfield.records.tables import Sorted, record_table, refers_to, text_column

kit = record_table(
    "kit",
    Column("kind", String(8), nullable=False),
    Column("label", Sorted, nullable=False),
    refers_to("person", "owner_id", nullable=True),
    Column("state", String(16), nullable=False),
    text_column("notes"),
    Column("figures", JSON(none_as_null=True), nullable=True),
    Index(None, "label", "id"),
    Index(None, "owner_id"),
)


class KitFigures(Form):
    """What was measured of a set: how strongly and how often it sends, how far it hears."""

    field_at_10m_ua_per_m: Annotated[float, Field(gt=0, le=10)] | None = None
    period_s: Annotated[float, Field(ge=0.4, le=3)] | None = None
    pulse_s: Annotated[float, Field(ge=0.01, le=1)] | None = None
    coaxial_range_m: Annotated[float, Field(gt=0, le=150)] | None = None


class Kit(Form):
    """A set, a probe or a shovel, by its stock number; `figures` are those of a set."""

    kind: Literal["set", "probe", "shovel"]
    label: Label
    owner_id: RecordId | None = None
    state: Literal["in use", "to check", "out of use"] = "in use"
    notes: Prose = ""
    figures: KitFigures | None = None


KIND = Kind(
    name="kit",
    one=message("term.kind.kit"),
    many=message("term.kinds.kit"),
    table=kit,
    form=Kit,
    sort="label",
    called="label",
    refers={"owner_id": "people"},
    counted=True,
    pages="list",
    from_the_first=True,
    words=("label", "notes"),
    words_beside={"owner_id": person.c.name},
    narrows=("kind", "state"),
    cleared_words=message("term.forgotten.kit_cleared"),
)
