"""Runs of drills: each uses one version of its drill and says who searched."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field
from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Connection,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    String,
    Table,
    delete,
    insert,
    select,
    text,
)

from coldfield.errors import BadInput
from coldfield.files.drill_json import drill_from
from coldfield.files.drill_model import BurialPart, SearcherId
from coldfield.files.wording import TextPlace, Wording
from coldfield.message import Message, message
from coldfield.records.forms import (
    MOST_SECONDS,
    ClockShift,
    Form,
    MaybeLine,
    Moment,
    Prose,
    RecordId,
)
from coldfield.records.kind import Arriving, Beside, Kind, ListedField, Record
from coldfield.records.kinds.drills import BroughtVersions, drill, drill_document, newest_version
from coldfield.records.kinds.people import person
from coldfield.records.tables import Id, Stamp, metadata, record_table, refers_to, text_column

if TYPE_CHECKING:
    from coldfield.files.records_zip import ArchiveReader

run = record_table(
    "run",
    refers_to("drill"),
    Column("drill_version", Integer, nullable=False),
    refers_to("day", nullable=True),
    text_column("name"),
    Column("held_utc", Stamp, nullable=False),
    Column("simulated", Boolean, nullable=False),
    text_column("notes"),
    Column("as_buried", JSON(none_as_null=True), nullable=True),
    Column("splits_shift_s", Float(53), nullable=True),
    Column("standards", JSON, nullable=False, server_default=text("'[]'")),
    ForeignKeyConstraint(
        ["drill_id", "drill_version"],
        ["drill_version.drill_id", "drill_version.number"],
        name="fk_run_version",
    ),
    Index(None, "held_utc", "id"),
    Index(None, "drill_id", "held_utc", "id"),
    Index(None, "day_id", "held_utc", "id"),
)


run_searcher = Table(
    "run_searcher",
    metadata,
    Column("run_id", Id, ForeignKey("run.id"), primary_key=True),
    Column("searcher", String(64), primary_key=True),
    Column("person_id", Id, ForeignKey("person.id"), nullable=True),
    Column("held_utc", Stamp, nullable=False),
    Index(None, "person_id", "held_utc", "run_id"),
)


class RunSearcher(Form):
    """Which person was which of the drill's searchers; null: unknown."""

    searcher: SearcherId
    person_id: RecordId | None = None


class StandardPart(Form):
    """A time to which people are held: for a phase, or for 'strike' or 'airway' from the alarm on."""

    what: Literal["signal", "coarse", "fine", "probe", "dig", "strike", "airway"]
    most_s: Annotated[float, Field(gt=0, le=MOST_SECONDS)]


class Run(Form):
    """One performance of a drill, with the version of the drill at that time.

    `drill_version` null means the drill's newest version when the run is recorded, and `held_utc` null
    means that moment. `as_buried` are the burials as they were really hidden and dug out.
    `splits_shift_s` is added to the clock of the splits; null: the debrief works it out.
    """

    as_given = ("as_buried",)

    drill_id: RecordId
    drill_version: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    day_id: RecordId | None = None
    name: MaybeLine = ""
    held_utc: Moment | None = None
    simulated: bool = False
    notes: Prose = ""
    as_buried: Annotated[list[BurialPart], Field(max_length=20)] | None = None
    searchers: Annotated[list[RunSearcher], Field(max_length=60)] = []
    splits_shift_s: ClockShift | None = None
    standards: Annotated[list[StandardPart], Field(max_length=20)] = []


def drill_faults(fields: Mapping[str, Any], drill: Mapping[str, Any] | None) -> list[Message]:
    """Return the faults in a run, and between it and its drill file if that is known."""
    known = [one["id"] for one in drill["searchers"]] if drill else []
    named = [one["searcher"] for one in fields["searchers"]]
    found = []
    for i, name in enumerate(named):
        if name in named[:i]:
            found.append(message("fault.stands_twice", id=name).at(f"searchers[{i}].searcher"))
        elif drill and name not in known:
            fault = message("fault.drill_without_searcher", id=name, known=tuple(known))
            found.append(fault.at(f"searchers[{i}].searcher"))
    if drill and fields["as_buried"] is not None:
        found += _as_buried_faults(fields["as_buried"], drill)
    return found


def _as_buried_faults(burials: list[Any], drill: Mapping[str, Any]) -> list[Message]:
    try:
        drill_from({**drill, "burials": burials}, "")
    except BadInput as error:
        return [_as_buried(fault) for fault in error.faults]
    return []


def _as_buried(fault: Message) -> Message:
    """Return a fault of the drill's burials with its place in a run."""
    first, *rest = fault.place or ("",)
    if isinstance(first, str):
        first = first.replace("burials[", "as_buried[", 1)
    return replace(fault, place=(first, *rest))


class _Runs(Kind):
    def settled(
        self,
        connection: Connection,
        fields: Mapping[str, Any],
        stored: Mapping[str, Any] | None,
        now_utc: str,
    ) -> Record:
        """Fill in the drill's newest version and the present moment if the run leaves them open."""
        settled = dict(fields)
        if settled["drill_version"] is None:
            if stored is not None and stored["drill_id"] == settled["drill_id"]:
                settled["drill_version"] = stored["drill_version"]
            else:
                settled["drill_version"] = newest_version(connection, settled["drill_id"])
        if settled["held_utc"] is None:
            settled["held_utc"] = now_utc if stored is None else stored["held_utc"]
        settled["searchers"] = _in_order(dict(one) for one in settled["searchers"])
        return settled

    def faults(self, connection: Connection, fields: Mapping[str, Any]) -> list[Message]:
        """Return the faults between a run and the drill version that it names."""
        number = fields["drill_version"]
        newest = newest_version(connection, fields["drill_id"]) or 0
        if number is not None and number > newest:
            fault = message("fault.versions_to", n=newest).at("drill_version")
            return [fault, *drill_faults(fields, None)]
        return drill_faults(fields, drill_document(connection, fields["drill_id"], number or newest))

    def write(
        self,
        connection: Connection,
        record_id: str,
        fields: Mapping[str, Any],
        stored: Mapping[str, Any] | None,
        now_utc: str,
    ) -> None:
        """Write who searched."""
        connection.execute(delete(run_searcher).where(run_searcher.c.run_id == record_id))
        if rows := _who(record_id, fields):
            connection.execute(insert(run_searcher), rows)

    def read(self, connection: Connection, records: Sequence[Record], *, whole: bool) -> None:
        """Add who searched."""
        if not records:
            return
        ids = [record["id"] for record in records]
        rows = connection.execute(select(run_searcher).where(run_searcher.c.run_id.in_(ids))).mappings()
        who: dict[str, list[dict[str, Any]]] = {run_id: [] for run_id in ids}
        for row in rows:
            who[row["run_id"]].append({"searcher": row["searcher"], "person_id": row["person_id"]})
        for record in records:
            record["searchers"] = _in_order(who[record["id"]])

    def outgoing(self, connection: Connection, records: Sequence[Record]) -> None:
        """Add who searched."""
        self.read(connection, records, whole=True)

    def arriving(
        self, around: Arriving, record_id: str, fields: Mapping[str, Any], beside: Beside
    ) -> list[Message]:
        """Return the faults between a run and its drill, which is in the archive or here."""
        drill_id, number = fields["drill_id"], fields["drill_version"]
        found = [
            message("fault.held_run").at(name)
            for name in ("drill_version", "held_utc")
            if fields[name] is None
        ]
        if found:
            return found
        files = around.noted(BroughtVersions).files.get(drill_id)
        if files is not None and number > len(files):
            return [message("fault.versions_to", n=len(files)).at("drill_version")]
        if files is None:
            query = select(drill.c.name, drill.c.drill_version).where(drill.c.id == drill_id)
            row = around.connection.execute(query).one_or_none()
            if row is None:
                # It is in the archive and has its own fault, which has been reported.
                return []
            if number > row.drill_version:
                # An existing drill stays as it is, so the run's version is missing.
                return [
                    message(
                        "fault.run_of_another_version",
                        run=fields["name"],
                        n=number,
                        drill=row.name,
                        own=row.drill_version,
                    )
                ]
        return drill_faults(fields, _drill(around, drill_id, number, whole=fields["as_buried"] is not None))

    def rows_beside(
        self, record_id: str, fields: Mapping[str, Any], beside: Beside, reader: ArchiveReader
    ) -> Iterator[tuple[Table, Record, int]]:
        """Yield who searched."""
        for row in _who(record_id, fields):
            yield run_searcher, row, 0


def _who(run_id: str, fields: Mapping[str, Any]) -> list[Record]:
    return [{"run_id": run_id, "held_utc": fields["held_utc"], **one} for one in fields["searchers"]]


def _in_order(searchers: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    # Sorted here because the databases sort letters differently.
    return sorted(searchers, key=lambda one: str(one["searcher"]))


def _drill(around: Arriving, drill_id: str, number: int, *, whole: bool) -> dict[str, Any]:
    """Return a drill file, or only its searchers, which is all that is remembered of each version."""
    brought = around.noted(BroughtVersions)
    known = brought.searchers.get((drill_id, number))
    if known is not None and not whole:
        return {"searchers": [{"id": one} for one in known]}
    files = brought.files.get(drill_id)
    document = (
        drill_document(around.connection, drill_id, number)
        if files is None
        else around.reader.read_json(files[number - 1], again=True)
    )
    document = document or {"searchers": []}
    brought.searchers[drill_id, number] = [one["id"] for one in document["searchers"]]
    return document


def _last_run_of_drill() -> ListedField:
    query = select(run.c.held_utc).where(run.c.drill_id == drill.c.id, run.c.deletion_id.is_(None))
    latest = query.order_by(run.c.held_utc.desc(), run.c.id.desc()).limit(1)
    return ListedField("last_run_utc", str | None, latest.scalar_subquery())


def _last_run_of_person() -> ListedField:
    who = run_searcher
    query = select(who.c.held_utc).join(run, run.c.id == who.c.run_id)
    query = query.where(who.c.person_id == person.c.id, run.c.deletion_id.is_(None))
    latest = query.order_by(who.c.held_utc.desc(), who.c.run_id.desc()).limit(1)
    return ListedField("last_run_utc", str | None, latest.scalar_subquery())


KIND = _Runs(
    name="runs",
    one=message("term.kind.run"),
    many=message("term.kinds.runs"),
    table=run,
    form=Run,
    sort="held_utc",
    descending=True,
    called="name",
    refers={"drill_id": "drills", "day_id": "days", "searchers[].person_id": "people"},
    goes_with="drill_id",
    counted=True,
    pages="list and each",
    from_the_first=True,
    heavy=("as_buried",),
    words=("name", "notes", "held_utc"),
    words_beside={"drill_id": drill.c.name},
    lists={"drills": (_last_run_of_drill(),), "people": (_last_run_of_person(),)},
    elsewhere={"searchers": (run_searcher, "")},
    texts_beside={
        run_searcher: {"run_id": TextPlace(Wording.RECORD), "held_utc": TextPlace(Wording.CODE)},
    },
    cleared_words=message("term.forgotten.runs_cleared"),
)
