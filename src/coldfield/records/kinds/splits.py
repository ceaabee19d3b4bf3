"""Timed moments of runs."""

from __future__ import annotations

from pydantic import model_validator
from sqlalchemy import Column, String

from coldfield.files.drill_model import BurialId, SearcherId
from coldfield.files.faults import refusal
from coldfield.message import message
from coldfield.records.forms import Form, Label, MaybeLine, RecordId, SinceAlarm, UnixSeconds
from coldfield.records.kind import Kind
from coldfield.records.tables import moment_columns, record_table, refers_to

split = record_table(
    "split",
    refers_to("run"),
    Column("split", String(64), nullable=False),
    *moment_columns(),
)


class SplitRecord(Form):
    """A timed moment of a run: either `time_unix_s` (UTC) or `since_alarm_s`."""

    run_id: RecordId
    split: Label
    searcher: SearcherId | None = None
    burial: BurialId | None = None
    time_unix_s: UnixSeconds | None = None
    since_alarm_s: SinceAlarm | None = None
    note: MaybeLine = ""

    @model_validator(mode="after")
    def _one_clock(self) -> SplitRecord:
        if (self.time_unix_s is None) == (self.since_alarm_s is None):
            raise refusal(message("fault.one_clock"))
        return self


KIND = Kind(
    name="splits",
    one=message("term.kind.split"),
    many=message("term.kinds.splits"),
    table=split,
    form=SplitRecord,
    sort="created_utc",
    called="split",
    refers={"run_id": "runs"},
    belongs=("run_id",),
    goes_with="run_id",
    from_the_first=True,
)
