"""What phones brought back, item by item as written on the phone."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, ValidationError, model_validator
from sqlalchemy import JSON, Column, Index, Integer

from coldfield.files import day_model
from coldfield.files.faults import fault_lines, refusal
from coldfield.files.places import inside
from coldfield.message import message
from coldfield.records.forms import Document, Form, RecordId
from coldfield.records.kind import Kind
from coldfield.records.tables import Id, record_table, refers_to

day_item = record_table(
    "day_item",
    refers_to("run", nullable=True),
    refers_to("group_check", "check_id", nullable=True),
    Column("of", Id, nullable=False),
    Column("phone", Id, nullable=False),
    Column("n", Integer, nullable=False),
    Column("told", JSON, nullable=False),
    Index(None, "of"),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "check_id"),
    Index(None, "created_utc", "id"),
)
"""What phones brought back, item by item as written on the phone; runs and checks follow from it."""


class DayItem(Form):
    """One item that a phone wrote in the snow: `told` holds its `kind` and that kind's own keys.

    `of` is the phone's id for the run or check. It belongs to the run `run_id` or the group check `check_id`
    of these records.
    """

    run_id: RecordId | None = None
    check_id: RecordId | None = None
    of: RecordId
    phone: RecordId
    n: Annotated[int, Field(ge=1, le=1_000_000)]
    told: Document

    @model_validator(mode="after")
    def _an_item(self) -> DayItem:
        if (self.run_id is None) == (self.check_id is None):
            raise refusal(message("fault.run_or_check"))
        kind = self.told.get("kind")
        form = day_model.ITEMS.get(kind) if isinstance(kind, str) else None
        if form is None:
            raise refusal(message("fault.one_of_these", known=tuple(day_model.ITEMS)).at("told.kind"))
        stamp = {"id": "item", "of": self.of, "phone": self.phone, "n": self.n}
        try:
            form.model_validate({**self.told, **stamp})
        except ValidationError as error:
            faults = (inside("told", fault) for fault in fault_lines(error, form))
            raise refusal(*faults) from None
        return self


KIND = Kind(
    name="day_items",
    one=message("term.kind.day_item"),
    many=message("term.kinds.day_items"),
    table=day_item,
    form=DayItem,
    sort="created_utc",
    refers={"run_id": "runs", "check_id": "group_checks"},
    belongs=("run_id", "check_id"),
    goes_with="run_id",
    by_hand=False,
    narrows=("of",),
)
