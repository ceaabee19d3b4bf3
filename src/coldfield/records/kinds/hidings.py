"""Sets as they were hidden and as they were dug out."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from sqlalchemy import JSON, Boolean, Column, Float, Index, String

from coldfield.files import day_places
from coldfield.files.drill_model import BurialId, ShortWords
from coldfield.message import message
from coldfield.records.forms import Form, MaybeLine, RecordId, UnixSeconds
from coldfield.records.kind import Kind
from coldfield.records.tables import record_table, refers_to, text_column

hiding = record_table(
    "hiding",
    refers_to("run"),
    Column("when", String(8), nullable=False),
    Column("burial", String(64), nullable=False),
    Column("set", String(64), nullable=True),
    Column("transmits", Boolean, nullable=True),
    Column("place", JSON(none_as_null=True), nullable=True),
    Column("depth_m", Float(53), nullable=True),
    Column("azimuth_deg", Float(53), nullable=True),
    Column("tilt_deg", Float(53), nullable=True),
    text_column("by"),
    Column("out", Boolean, nullable=False),
    Column("time_unix_s", Float(53), nullable=True),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)


class Hiding(Form):
    """A set of a run as it was hidden, or as it was dug out; `out`: signed out of the stock by `by`.

    `transmits`: whether it was seen to transmit just before it was hidden; null: unknown.
    """

    run_id: RecordId
    when: Literal["hidden", "dug out"]
    burial: BurialId
    set: ShortWords | None = None
    transmits: bool | None = None
    place: day_places.Place | None = None
    depth_m: Annotated[float, Field(ge=0, le=10)] | None = None
    azimuth_deg: Annotated[float, Field(ge=-360, le=360)] | None = None
    tilt_deg: Annotated[float, Field(ge=-90, le=90)] | None = None
    by: MaybeLine = ""
    out: bool = False
    time_unix_s: UnixSeconds | None = None


KIND = Kind(
    name="hidings",
    one=message("term.kind.hiding"),
    many=message("term.kinds.hidings"),
    table=hiding,
    form=Hiding,
    sort="created_utc",
    refers={"run_id": "runs"},
    belongs=("run_id",),
    goes_with="run_id",
)
