"""Group checks: who checked whom, and what was found."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from sqlalchemy import JSON, Column, Index, String

from coldfield.files import day_model
from coldfield.files.drill_model import SearcherId, ShortWords
from coldfield.message import message
from coldfield.records.forms import Form, Line, MaybeLine, Moment, RecordId, UnixSeconds
from coldfield.records.kind import Kind
from coldfield.records.tables import Stamp, record_table, refers_to, text_column

group_check = record_table(
    "group_check",
    refers_to("run", nullable=True),
    Column("extent", String(8), nullable=True),
    text_column("leader"),
    Column("begun_utc", Stamp, nullable=False),
    Column("ended_utc", Stamp, nullable=True),
    Column("checked", JSON, nullable=False),
    Column("not_checked", JSON, nullable=False),
    Index(None, "begun_utc", "id"),
    Index(None, "run_id", "begun_utc", "id"),
)


class CheckedSet(Form):
    """The result for one person's set at one stage of a group check; `look_at`: what needs attention."""

    stage: Literal["receives", "transmits", "leader"]
    person: SearcherId
    name: Line
    set: ShortWords | None = None
    battery_percent: Annotated[int, Field(ge=0, le=100)] | None = None
    errors: bool | None = None
    receives: bool | None = None
    transmits: bool | None = None
    reading_m: Annotated[float, Field(ge=0, le=200)] | None = None
    look_at: Annotated[list[day_model.LookAt], Field(max_length=5)] = []
    by: MaybeLine = ""
    words: MaybeLine = ""
    time_unix_s: UnixSeconds | None = None


class GroupCheck(Form):
    """A group check: who checked whom, when, and what was found; `extent` null: its beginning is missing.

    `run_id` is the run that followed it. `not_checked` are people who were explicitly left out.
    """

    run_id: RecordId | None = None
    extent: Literal["full", "simple"] | None = None
    leader: MaybeLine = ""
    begun_utc: Moment
    ended_utc: Moment | None = None
    checked: Annotated[list[CheckedSet], Field(max_length=500)] = []
    not_checked: Annotated[list[SearcherId], Field(max_length=60)] = []


KIND = Kind(
    name="group_checks",
    one=message("term.kind.group_check"),
    many=message("term.kinds.group_checks"),
    table=group_check,
    form=GroupCheck,
    sort="begun_utc",
    descending=True,
    called="begun_utc",
    # It concerns people and their own sets, so it is not exported with a drill.
    refers={"run_id": "runs"},
    words=("leader",),
)
