"""Standards: times to which an instructor or an association holds people, and how long a pass is valid."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from sqlalchemy import Column, Float, Index, Integer, String

from coldfield.message import message
from coldfield.records.forms import MOST_SECONDS, Form, Line, Prose
from coldfield.records.kind import Kind
from coldfield.records.tables import Sorted, record_table, text_column

standard = record_table(
    "standard",
    Column("name", Sorted, nullable=False),
    Column("what", String(16), nullable=False),
    Column("most_s", Float(53), nullable=False),
    Column("least_burials", Integer, nullable=False),
    Column("least_depth_m", Float(53), nullable=False),
    Column("valid_days", Integer, nullable=True),
    text_column("notes"),
    Index(None, "name", "id"),
)


class StandardRecord(Form):
    """A time to meet in a run with a least number of burials and a least depth of the one concerned.

    `what` is a phase, 'strike' or 'airway' from the alarm on, or 'all' for the last airway. Whoever met it
    is due again after `valid_days`; null: never.
    """

    name: Line
    what: Literal["signal", "coarse", "fine", "probe", "dig", "strike", "airway", "all"]
    most_s: Annotated[float, Field(gt=0, le=MOST_SECONDS)]
    least_burials: Annotated[int, Field(ge=1, le=20)] = 1
    least_depth_m: Annotated[float, Field(ge=0, le=10)] = 0.0
    valid_days: Annotated[int, Field(ge=1, le=3660)] | None = None
    notes: Prose = ""


KIND = Kind(
    name="standards",
    one=message("term.kind.standard"),
    many=message("term.kinds.standards"),
    table=standard,
    form=StandardRecord,
    sort="name",
    called="name",
    words=("name", "notes"),
)
