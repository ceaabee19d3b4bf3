"""What a drill and a run hold beyond their own row: versions of the drill, who searched."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from coldfield.records import schema
from coldfield.records.kinds import Kind

_VERSION = schema.drill_version
_SEARCHER = schema.run_searcher


def settled(
    connection: Connection,
    kind: Kind,
    fields: Mapping[str, Any],
    stored: Mapping[str, Any] | None,
    now_utc: str,
) -> dict[str, Any]:
    """Return the fields with a run's open ones filled: from the stored run, or for a new one from now."""
    settled = dict(fields)
    if kind.name != "runs":
        return settled
    if settled["drill_version"] is None:
        if stored is not None and stored["drill_id"] == settled["drill_id"]:
            settled["drill_version"] = stored["drill_version"]
        else:
            settled["drill_version"] = _newest(connection, settled["drill_id"])
    if settled["held_utc"] is None:
        settled["held_utc"] = now_utc if stored is None else stored["held_utc"]
    settled["searchers"] = sorted(
        (dict(one) for one in settled["searchers"]), key=lambda one: str(one["searcher"])
    )
    return settled


def _newest(connection: Connection, drill_id: str) -> int | None:
    query = select(schema.drill.c.drill_version).where(schema.drill.c.id == drill_id)
    return connection.execute(query).scalar_one_or_none()


def faults(connection: Connection, kind: Kind, fields: Mapping[str, Any]) -> list[str]:
    """Return what is wrong between a run and the drill version it names."""
    if kind.name != "runs":
        return []
    number = fields["drill_version"]
    newest = _newest(connection, fields["drill_id"]) or 0
    found = []
    if number is not None and number > newest:
        found.append(f"drill_version: this drill has versions 1 to {newest}")
    document = drill_document(connection, fields["drill_id"], number or newest) if not found else None
    known = [one["id"] for one in document["searchers"]] if document else []
    named = [one["searcher"] for one in fields["searchers"]]
    for i, name in enumerate(named):
        if name in named[:i]:
            found.append(f"searchers[{i}].searcher: '{name}' stands twice")
        elif document and name not in known:
            found.append(
                f"searchers[{i}].searcher: the drill has no searcher '{name}'; it has: {', '.join(known)}"
            )
    return found


def drill_document(connection: Connection, drill_id: str, number: int) -> dict[str, Any] | None:
    """Return one version of a drill, or None where there is none."""
    query = select(_VERSION.c.document).where(_VERSION.c.drill_id == drill_id, _VERSION.c.number == number)
    return connection.execute(query).scalar_one_or_none()


def derived(kind: Kind, fields: Mapping[str, Any], stored: Mapping[str, Any] | None) -> dict[str, Any]:
    """Return the columns of a drill that follow from its document."""
    if kind.name != "drills":
        return {}
    number = 0 if stored is None else stored["drill_version"]
    changed = stored is None or stored["document"] != fields["document"]
    return {"name": fields["document"]["name"], "drill_version": number + int(changed)}


def write(
    connection: Connection,
    kind: Kind,
    record_id: str,
    fields: Mapping[str, Any],
    stored: Mapping[str, Any] | None,
    now_utc: str,
) -> None:
    """Write a drill's new version, or who searched in a run."""
    if kind.name == "drills" and (stored is None or stored["document"] != fields["document"]):
        number = 1 if stored is None else stored["drill_version"] + 1
        connection.execute(
            insert(_VERSION).values(
                drill_id=record_id, number=number, created_utc=now_utc, document=fields["document"]
            )
        )
    if kind.name == "runs":
        connection.execute(delete(_SEARCHER).where(_SEARCHER.c.run_id == record_id))
        rows = [{"run_id": record_id, "held_utc": fields["held_utc"], **one} for one in fields["searchers"]]
        if rows:
            connection.execute(insert(_SEARCHER), rows)


def read(connection: Connection, kind: Kind, records: Sequence[dict[str, Any]], *, whole: bool) -> None:
    """Add to records read from a table what is kept beside it."""
    if kind.name == "drills" and whole:
        for record in records:
            record["document"] = drill_document(connection, record["id"], record["drill_version"])
    if kind.name == "runs" and records:
        ids = [record["id"] for record in records]
        rows = connection.execute(
            select(_SEARCHER)
            .where(_SEARCHER.c.run_id.in_(ids))
            .order_by(_SEARCHER.c.run_id, _SEARCHER.c.searcher)
        ).mappings()
        who: dict[str, list[dict[str, Any]]] = {run_id: [] for run_id in ids}
        for row in rows:
            who[row["run_id"]].append({"searcher": row["searcher"], "person_id": row["person_id"]})
        for record in records:
            record["searchers"] = who[record["id"]]
