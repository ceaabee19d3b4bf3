"""Planned drills: each change of the drill file makes a new version, and each run names its version."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from sqlalchemy import (
    JSON,
    Column,
    Connection,
    ForeignKey,
    Index,
    Integer,
    Table,
    insert,
    select,
    text,
    tuple_,
)

from coldfield.errors import BadInput, ColdfieldError
from coldfield.files.drill_json import drill_from
from coldfield.files.drill_model import DrillPart
from coldfield.files.faults import fault_lines
from coldfield.files.wording import TextPlace, Wording, texts_of
from coldfield.message import Message, message
from coldfield.records.forms import Form, Prose, RecordId, Stamp, filled_in
from coldfield.records.kind import Arriving, Beside, Kind, Record
from coldfield.records.kinds.sites import site
from coldfield.records.tables import Id, Sorted, metadata, record_table, refers_to, text_column
from coldfield.records.tables import Stamp as StampColumn

if TYPE_CHECKING:
    from coldfield.files.records_zip import ArchiveReader

MOST_CORNERS, MOST_HOLES = 60, 10
"""Limits for the small picture of a drill's ground. Setting."""

drill = record_table(
    "drill",
    Column("name", Sorted, nullable=False),
    refers_to("site", nullable=True),
    text_column("notes"),
    Column("checks", JSON(none_as_null=True), nullable=False, server_default=text("'[]'")),
    Column("drill_version", Integer, nullable=False),
    Index(None, "site_id"),
)
Index("ix_drill_changed_utc_id", drill.c.changed_utc, drill.c.id)


drill_version = Table(
    "drill_version",
    metadata,
    Column("drill_id", Id, ForeignKey("drill.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("created_utc", StampColumn, nullable=False),
    Column("document", JSON, nullable=False),
)


class DrillRecord(Form):
    """A planned drill; each change of `document`, a drill file, makes a new drill version.

    `checks` are the items of the check list that are ticked for the next time it is held.
    """

    as_given = ("document",)

    document: DrillPart
    site_id: RecordId | None = None
    notes: Prose = ""
    checks: Annotated[list[RecordId], Field(max_length=100)] = []


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundSketch:
    """What a small picture of a drill's ground needs: few corners, entry, burials, number of searchers."""

    boundary_m: list[list[float]]
    holes_m: list[list[list[float]]]
    entry_m: list[float]
    burials_m: list[list[float]]
    searchers: int


class VersionRow(BaseModel):
    """The place of one version of a drill in an archive."""

    model_config = ConfigDict(extra="forbid", strict=True)

    number: Annotated[int, Field(ge=1, le=1_000_000)]
    created_utc: Stamp
    file: str


class Versions(BaseModel):
    """The versions of a drill in an archive, the oldest first."""

    model_config = ConfigDict(extra="forbid", strict=True)

    versions: Annotated[list[VersionRow], Field(min_length=1)]


class BroughtVersions:
    """The versions of drills in an archive: their members by drill, and who searches in each."""

    def __init__(self) -> None:
        self.files: dict[str, list[str]] = {}
        self.searchers: dict[tuple[str, int], list[str]] = {}


def drill_document(connection: Connection, drill_id: str, number: int) -> dict[str, Any] | None:
    """Return one version of a drill, or None if there is none."""
    table = drill_version
    query = select(table.c.document).where(table.c.drill_id == drill_id, table.c.number == number)
    return connection.execute(query).scalar_one_or_none()


def newest_version(connection: Connection, drill_id: str) -> int | None:
    """Return the number of the newest version of a drill, or None if there is no such drill."""
    query = select(drill.c.drill_version).where(drill.c.id == drill_id)
    return connection.execute(query).scalar_one_or_none()


def ground_sketches(connection: Connection, drills: Sequence[str]) -> dict[str, GroundSketch]:
    """Return for each drill what a small picture of its newest version needs; see `ground_sketch`."""
    newest = (drill_version.c.drill_id == drill.c.id) & (drill_version.c.number == drill.c.drill_version)
    query = select(drill.c.id, drill_version.c.document).join(drill_version, newest)
    return {
        row.id: ground_sketch(row.document) for row in connection.execute(query.where(drill.c.id.in_(drills)))
    }


def sketches_of_versions(
    connection: Connection, versions: Collection[tuple[str, int]]
) -> dict[tuple[str, int], GroundSketch]:
    """Return the same for versions of drills, each given by its drill and number."""
    table = drill_version
    query = select(table).where(tuple_(table.c.drill_id, table.c.number).in_(list(versions)))
    return {(row.drill_id, row.number): ground_sketch(row.document) for row in connection.execute(query)}


def ground_sketch(document: Mapping[str, Any]) -> GroundSketch:
    """Return the outline (with few corners), entry, burials and number of searchers of a drill file.

    Parameters
    ----------
    document : mapping
        A drill file that has been checked.
    """
    ground = document["site"]
    return GroundSketch(
        boundary_m=_few(ground["boundary_m"]),
        holes_m=[_few(hole) for hole in ground.get("holes_m", [])[:MOST_HOLES]],
        entry_m=ground["entry_m"],
        burials_m=[one["position_m"] for one in document["burials"]],
        searchers=len(document["searchers"]),
    )


def _few(ring: Sequence[Any]) -> list[Any]:
    step = -(-len(ring) // MOST_CORNERS)
    return list(ring[::step])


class _Drills(Kind):
    def check(self, fields: Mapping[str, Any]) -> None:
        """Raise an error for a drill file that cannot be used."""
        drill_from(fields["document"], "document")

    def derived(self, fields: Mapping[str, Any], stored: Mapping[str, Any] | None) -> Record:
        """Return the drill's name and the number of its newest version."""
        number = 0 if stored is None else stored["drill_version"]
        return {"name": fields["document"]["name"], "drill_version": number + int(_changed(fields, stored))}

    def write(
        self,
        connection: Connection,
        record_id: str,
        fields: Mapping[str, Any],
        stored: Mapping[str, Any] | None,
        now_utc: str,
    ) -> None:
        """Write a new version if the drill file has changed."""
        if _changed(fields, stored):
            row = {"number": self.derived(fields, stored)["drill_version"], "document": fields["document"]}
            connection.execute(insert(drill_version).values(drill_id=record_id, created_utc=now_utc, **row))

    def read(self, connection: Connection, records: Sequence[Record], *, whole: bool) -> None:
        """Add the newest version's drill file, or in a list what a small picture of it needs."""
        if whole:
            for record in records:
                record["document"] = drill_document(connection, record["id"], record["drill_version"])
            return
        grounds = ground_sketches(connection, [record["id"] for record in records])
        for record in records:
            record["ground"] = grounds[record["id"]]

    def outgoing(self, connection: Connection, records: Sequence[Record]) -> None:
        """List every version with its member; name and number follow from them."""
        table = drill_version
        for record in records:
            query = select(table.c.number, table.c.created_utc).where(table.c.drill_id == record["id"])
            rows = connection.execute(query.order_by(table.c.number)).mappings()
            record["versions"] = [{**row, "file": _member(record["id"], row["number"])} for row in rows]
            del record["name"], record["drill_version"]

    def members(self, connection: Connection, records: Sequence[Record]) -> Iterator[tuple[str, Any]]:
        """Yield every version of every drill."""
        table = drill_version
        for record in records:
            query = select(table.c.number, table.c.document).where(table.c.drill_id == record["id"])
            for row in connection.execute(query.order_by(table.c.number)):
                yield _member(record["id"], row.number), row.document

    def incoming(self, own: Record, reader: ArchiveReader) -> Beside:
        """Remove the versions from a record and fill in the newest drill file."""
        versions = _versions(own.pop("versions", None))
        own["document"] = reader.read_json(versions[-1]["file"])
        return {"versions": versions, "derived": {"drill_version": len(versions)}}

    def arriving(
        self, around: Arriving, record_id: str, fields: Mapping[str, Any], beside: Beside
    ) -> list[Message]:
        """Remember the versions, because runs may name them."""
        around.noted(BroughtVersions).files[record_id] = [one["file"] for one in beside["versions"]]
        return []

    def rows_beside(
        self, record_id: str, fields: Mapping[str, Any], beside: Beside, reader: ArchiveReader
    ) -> Iterator[tuple[Table, Record, int]]:
        """Yield every version, checked like any drill."""
        for one in beside["versions"]:
            row = {"drill_id": record_id, "number": one["number"], "created_utc": one["created_utc"]}
            document = self._usable(reader.read_json(one["file"]), one["file"])
            yield drill_version, {**row, "document": document}, reader.size(one["file"])

    def _usable(self, document: Any, file: str) -> Any:
        try:
            fields = filled_in(DrillRecord, {"document": document}).fields()
            self.check(fields)
        except ColdfieldError as error:
            faults = error.placed() if isinstance(error, BadInput) else (error.message,)
            raise BadInput([fault.at(file) for fault in faults]) from None
        return fields["document"]


def _changed(fields: Mapping[str, Any], stored: Mapping[str, Any] | None) -> bool:
    return stored is None or bool(stored["document"] != fields["document"])


def _member(drill_id: str, number: int) -> str:
    return f"drills/{drill_id}/{number}.json"


def _versions(listed: Any) -> list[dict[str, Any]]:
    try:
        versions = Versions.model_validate({"versions": listed}).model_dump()["versions"]
    except ValidationError as error:
        raise BadInput(fault_lines(error, Versions)) from None
    for number, one in enumerate(versions, start=1):
        if one["number"] != number:
            fault = message("fault.must_be_number", n=number)
            raise BadInput(fault.at(f"versions[{number - 1}].number"))
    found: list[dict[str, Any]] = versions
    return found


_RECORD, _CODE = TextPlace(Wording.RECORD), TextPlace(Wording.CODE)

KIND = _Drills(
    name="drills",
    one=message("term.kind.drill"),
    many=message("term.kinds.drills"),
    table=drill,
    form=DrillRecord,
    sort="changed_utc",
    descending=True,
    called="name",
    refers={"site_id": "sites"},
    counted=True,
    pages="list and each",
    from_the_first=True,
    heavy=("document",),
    words=("name", "notes"),
    words_beside={"site_id": site.c.name},
    derived_fields={"name": (str, ...), "drill_version": (int, ...)},
    listed_fields={"ground": (GroundSketch, ...)},
    elsewhere={"document": (drill_version, "document")},
    texts_beside={
        drill: {"name": texts_of(DrillPart)["name"]},
        drill_version: {"drill_id": _RECORD, "created_utc": _CODE},
    },
    document_words=message("term.forgotten.drill_versions"),
)
