"""Range tests: how far a set heard in three positions on one day."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from sqlalchemy import JSON, Column, Float, Index, Integer, String

from coldfield.message import message
from coldfield.records.forms import Day, Form, MaybeLine, Prose, RecordId
from coldfield.records.kind import Kind
from coldfield.records.tables import Stamp, record_table, refers_to, text_column

range_test = record_table(
    "range_test",
    refers_to("kit"),
    Column("held", Stamp, nullable=False),
    text_column("against"),
    Column("field_at_10m_ua_per_m", Float(53), nullable=False),
    Column("antennas", Integer, nullable=False),
    Column("coaxial_m", JSON, nullable=False),
    Column("coplanar_m", JSON, nullable=False),
    Column("upright_m", JSON, nullable=False),
    Column("measured", String(8), nullable=False),
    text_column("notes"),
    Index(None, "kit_id", "held", "id"),
    Index(None, "held", "id"),
)

Runs = Annotated[list[Annotated[float, Field(ge=0.1, le=200)]], Field(max_length=20)]


class RangeTest(Form):
    """Ranges of a stable signal, m: both antennas in one line, side by side, the other set upright.

    `against` is the set that transmitted, with the strength `field_at_10m_ua_per_m`. `measured` says how:
    by tape, by paces, or from a track.
    """

    kit_id: RecordId
    held: Day
    against: MaybeLine = ""
    field_at_10m_ua_per_m: Annotated[float, Field(gt=0, le=10)] = 1.0
    antennas: Annotated[int, Field(ge=1, le=3)] = 3
    coaxial_m: Annotated[Runs, Field(min_length=1)]
    coplanar_m: Runs = []
    upright_m: Runs = []
    measured: Literal["tape", "paces", "track"] = "tape"
    notes: Prose = ""


KIND = Kind(
    name="range_tests",
    one=message("term.kind.range_test"),
    many=message("term.kinds.range_tests"),
    table=range_test,
    form=RangeTest,
    sort="held",
    descending=True,
    called="held",
    refers={"kit_id": "kit"},
    belongs=("kit_id",),
    words=("against", "notes"),
)
