"""Debriefs of runs as they were made; the duration of each phase is stored separately."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from math import isfinite
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import AfterValidator, model_validator
from sqlalchemy import (
    JSON,
    Column,
    Connection,
    Float,
    ForeignKey,
    Index,
    Integer,
    String,
    Table,
    delete,
    insert,
    select,
)

from coldfield.debrief.document import DebriefDocument
from coldfield.debrief.written import MadeBy
from coldfield.files.faults import refusal
from coldfield.files.wording import Shape, TextPlace, Wording
from coldfield.message import message
from coldfield.records.debrief_form import a_debrief, a_making
from coldfield.records.forms import Document, Form, RecordId
from coldfield.records.kind import Beside, Kind, Record, named_file
from coldfield.records.tables import Id, metadata, record_table, refers_to

if TYPE_CHECKING:
    from coldfield.files.records_zip import ArchiveReader

PHASES = ("signal", "coarse", "fine", "probe", "dig")
MOST_ROWS = 5_000


def phase_rows(debrief_id: str, document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the phases in a debrief as rows; phases without a usable place or time are left out.

    Parameters
    ----------
    debrief_id : str
        The debrief.
    document : mapping
        What `coldfield debrief --json` prints.
    """
    rows = []
    for number, (searcher, phase) in enumerate(islice(_told(document), MOST_ROWS)):
        start_s, end_s = _seconds(phase.get("start_s")), _seconds(phase.get("end_s"))
        if phase.get("phase") not in PHASES or start_s is None or end_s is None:
            continue
        burial = phase.get("burial")
        rows.append(
            {
                "debrief_id": debrief_id,
                "number": number,
                "searcher": searcher[:64],
                "burial": burial[:64] if isinstance(burial, str) else "",
                "phase": phase["phase"],
                "start_s": start_s,
                "end_s": end_s,
            }
        )
    return rows


def _told(document: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    searchers = document.get("searchers")
    for one in searchers if isinstance(searchers, list) else []:
        if not isinstance(one, Mapping) or not isinstance(one.get("id"), str):
            continue
        phases = one.get("phases")
        for phase in phases if isinstance(phases, list) else []:
            if isinstance(phase, Mapping):
                yield one["id"], phase


def _seconds(value: Any) -> float | None:
    usable = isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)
    return float(value) if usable else None


debrief = record_table(
    "debrief",
    refers_to("run"),
    Column("made_by", JSON, nullable=False),
    Column("document", JSON, nullable=False),
    Index(None, "run_id", "created_utc", "id"),
    Index(None, "created_utc", "id"),
)


phase = Table(
    "phase",
    metadata,
    Column("debrief_id", Id, ForeignKey("debrief.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("searcher", String(64), nullable=False),
    Column("burial", String(64), nullable=False),
    Column("phase", String(16), nullable=False),
    Column("start_s", Float(53), nullable=False),
    Column("end_s", Float(53), nullable=False),
)


class DebriefRecord(Form):
    """A debrief as it was made, and the versions of models and constants that made it."""

    as_given = ("document",)

    run_id: RecordId
    made_by: Annotated[Document, Shape(MadeBy), AfterValidator(a_making)]
    document: Annotated[Document, Shape(DebriefDocument), AfterValidator(a_debrief)]

    @model_validator(mode="after")
    def _one_model(self) -> DebriefRecord:
        told, made = (part.get("model_version") for part in (self.document, self.made_by))
        if told != made:
            raise refusal(message("fault.model_version").at("made_by.model_version"))
        return self


class _Debriefs(Kind):
    def write(
        self,
        connection: Connection,
        record_id: str,
        fields: Mapping[str, Any],
        stored: Mapping[str, Any] | None,
        now_utc: str,
    ) -> None:
        """Write the phases of a debrief, which is never changed."""
        if stored is None:
            _keep_phases(connection, record_id, fields["document"])

    def unwritten(self) -> frozenset[str]:
        """Leave the document out of the list, because it is large and has its own member."""
        return frozenset(["document"])

    def outgoing(self, connection: Connection, records: Sequence[Record]) -> None:
        """Name the member that holds the document."""
        for record in records:
            record["file"] = _member(record)

    def members(self, connection: Connection, records: Sequence[Record]) -> Iterator[tuple[str, Any]]:
        """Yield the documents."""
        for record in records:
            query = select(debrief.c.document).where(debrief.c.id == record["id"])
            yield _member(record), connection.execute(query).scalar_one()

    def incoming(self, own: Record, reader: ArchiveReader) -> Beside:
        """Fill in the document."""
        file = named_file(own)
        own["document"] = reader.read_json(file)
        return {"bytes": reader.size(file)}

    def rows_beside(
        self, record_id: str, fields: Mapping[str, Any], beside: Beside, reader: ArchiveReader
    ) -> Iterator[tuple[Table, Record, int]]:
        """Yield the phases."""
        for row in phase_rows(record_id, fields["document"]):
            yield phase, row, 0

    def rewritten(self, connection: Connection, record_id: str, values: Mapping[str, Any]) -> None:
        """Recompute the phases."""
        if "document" in values:
            connection.execute(delete(phase).where(phase.c.debrief_id == record_id))
            _keep_phases(connection, record_id, values["document"])


def _keep_phases(connection: Connection, debrief_id: str, document: Mapping[str, Any]) -> None:
    if rows := phase_rows(debrief_id, document):
        connection.execute(insert(phase), rows)


def _member(record: Mapping[str, Any]) -> str:
    return f"debriefs/{record['id']}.json"


KIND = _Debriefs(
    name="debriefs",
    one=message("term.kind.debrief"),
    many=message("term.kinds.debriefs"),
    table=debrief,
    form=DebriefRecord,
    sort="created_utc",
    descending=True,
    refers={"run_id": "runs"},
    belongs=("run_id",),
    goes_with="run_id",
    made_from="run_id",
    by_hand=False,
    from_the_first=True,
    heavy=("made_by", "document"),
    texts_beside={
        phase: {
            "debrief_id": TextPlace(Wording.RECORD),
            "searcher": TextPlace(Wording.SEARCHER),
            "burial": TextPlace(Wording.BURIAL),
            "phase": TextPlace(Wording.CODE),
        }
    },
    removed_words=message("term.forgotten.debriefs"),
    document_words=message("term.forgotten.debriefs_cleared"),
)
