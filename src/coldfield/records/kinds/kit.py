"""Sets, probes and shovels by their stock number."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from sqlalchemy import JSON, Column, Index, Integer, String

from coldfield.message import message
from coldfield.records.forms import Day, Form, Label, MaybeLine, Prose, RecordId
from coldfield.records.kind import Kind
from coldfield.records.kinds.people import person
from coldfield.records.tables import Sorted, Stamp, record_table, refers_to, text_column

kit = record_table(
    "kit",
    Column("kind", String(8), nullable=False),
    Column("label", Sorted, nullable=False),
    refers_to("person", "owner_id", nullable=True),
    Column("state", String(16), nullable=False),
    text_column("notes"),
    Column("figures", JSON(none_as_null=True), nullable=True),
    text_column("serial"),
    text_column("battery"),
    text_column("firmware"),
    text_column("faults"),
    Column("made_year", Integer, nullable=True),
    Column("last_check", Stamp, nullable=True),
    Column("next_check", Stamp, nullable=True),
    Index(None, "label", "id"),
    Index(None, "owner_id"),
)


class KitFigures(Form):
    """What was measured for a set: the strength and timing of its signal, and how far it hears."""

    field_at_10m_ua_per_m: Annotated[float, Field(gt=0, le=10)] | None = None
    period_s: Annotated[float, Field(ge=0.4, le=3)] | None = None
    pulse_s: Annotated[float, Field(ge=0.01, le=1)] | None = None
    coaxial_range_m: Annotated[float, Field(gt=0, le=150)] | None = None


class Kit(Form):
    """A set, a probe or a shovel, by its stock number; `figures` are for a set only.

    `serial` is its maker's number; `battery` and `firmware` hold notes about them; `faults` says what is
    known to be wrong. A piece whose `next_check` has come is due.
    """

    kind: Literal["set", "probe", "shovel"]
    label: Label
    owner_id: RecordId | None = None
    state: Literal["in use", "to check", "out of use", "retired"] = "in use"
    notes: Prose = ""
    figures: KitFigures | None = None
    serial: MaybeLine = ""
    battery: MaybeLine = ""
    firmware: MaybeLine = ""
    faults: Prose = ""
    made_year: Annotated[int, Field(ge=1960, le=2100)] | None = None
    last_check: Day | None = None
    next_check: Day | None = None


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
    words=("label", "notes", "serial", "battery", "firmware", "faults"),
    words_beside={"owner_id": person.c.name},
    narrows=("kind", "state"),
    cleared_words=message("term.forgotten.kit_cleared"),
)
