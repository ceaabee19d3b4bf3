"""What a drill and a run hold beyond their own row: versions of the drill, who searched."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, delete, func, insert, select

from coldfield.errors import BadInput
from coldfield.files.drill_json import read_drill
from coldfield.records import schema
from coldfield.records.kinds import Kind
from coldfield.records.phases import keep_phases

_VERSION = schema.drill_version
_SEARCHER = schema.run_searcher

MOST_CORNERS, MOST_HOLES = 60, 10
"""Of the small picture of a drill's ground. Setting."""


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
    if number is not None and number > newest:
        return [f"drill_version: this drill has versions 1 to {newest}", *run_faults(fields, None)]
    return run_faults(fields, drill_document(connection, fields["drill_id"], number or newest))


def run_faults(fields: Mapping[str, Any], drill: Mapping[str, Any] | None) -> list[str]:
    """Return what is wrong in a run, and between it and the drill file it was run on, where that is known."""
    known = [one["id"] for one in drill["searchers"]] if drill else []
    named = [one["searcher"] for one in fields["searchers"]]
    found = []
    for i, name in enumerate(named):
        if name in named[:i]:
            found.append(f"searchers[{i}].searcher: '{name}' stands twice")
        elif drill and name not in known:
            found.append(
                f"searchers[{i}].searcher: the drill has no searcher '{name}'; it has: {', '.join(known)}"
            )
    if drill and fields["as_buried"] is not None:
        found += _as_buried_faults(fields["as_buried"], drill)
    return found


def _as_buried_faults(burials: list[Any], drill: Mapping[str, Any]) -> list[str]:
    try:
        read_drill(json.dumps({**drill, "burials": burials}), "")
    except BadInput as error:
        return [fault.replace("burials[", "as_buried[", 1) for fault in error.texts()]
    return []


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
    if kind.name == "debriefs" and stored is None:
        keep_phases(connection, record_id, fields["document"])


def read(connection: Connection, kind: Kind, records: Sequence[dict[str, Any]], *, whole: bool) -> None:
    """Add to records read from a table what is kept beside it."""
    if kind.name == "drills" and whole:
        for record in records:
            record["document"] = drill_document(connection, record["id"], record["drill_version"])
    elif kind.name == "drills":
        grounds = ground_sketches(connection, [record["id"] for record in records])
        for record in records:
            record["ground"] = grounds[record["id"]]
    if kind.name == "runs" and records:
        ids = [record["id"] for record in records]
        rows = connection.execute(select(_SEARCHER).where(_SEARCHER.c.run_id.in_(ids))).mappings()
        who: dict[str, list[dict[str, Any]]] = {run_id: [] for run_id in ids}
        for row in rows:
            who[row["run_id"]].append({"searcher": row["searcher"], "person_id": row["person_id"]})
        for record in records:
            # Sorted here: the databases do not sort letters alike.
            record["searchers"] = sorted(who[record["id"]], key=lambda one: str(one["searcher"]))


def told_beside(kind: Kind) -> list[ColumnElement[Any]]:
    """Return what a list tells of each record beyond its own row: last run, first and last day."""
    run, who = schema.run, _SEARCHER
    if kind.name == "drills":
        query = select(run.c.held_utc).where(run.c.drill_id == schema.drill.c.id, run.c.deletion_id.is_(None))
        latest = query.order_by(run.c.held_utc.desc(), run.c.id.desc()).limit(1)
    elif kind.name == "people":
        query = select(who.c.held_utc).join(run, run.c.id == who.c.run_id)
        query = query.where(who.c.person_id == schema.person.c.id, run.c.deletion_id.is_(None))
        latest = query.order_by(who.c.held_utc.desc(), who.c.run_id.desc()).limit(1)
    elif kind.name == "courses":
        day = schema.day
        mine = (day.c.course_id == schema.course.c.id) & day.c.deletion_id.is_(None)
        first, last = (select(edge(day.c.date)).where(mine) for edge in (func.min, func.max))
        return [first.scalar_subquery().label("first_date"), last.scalar_subquery().label("last_date")]
    else:
        return []
    return [latest.scalar_subquery().label("last_run_utc")]


def ground_sketches(connection: Connection, drills: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Return for each drill what a small picture of its newest version needs; see `ground_sketch`."""
    table = schema.drill
    newest = (_VERSION.c.drill_id == table.c.id) & (_VERSION.c.number == table.c.drill_version)
    query = select(table.c.id, _VERSION.c.document).join(_VERSION, newest).where(table.c.id.in_(drills))
    return {row.id: ground_sketch(row.document) for row in connection.execute(query)}


def ground_sketch(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return outline, entry and burials of a drill file, with few corners, and how many search.

    Parameters
    ----------
    document : mapping
        A drill file that has been checked.
    """
    site = document["site"]
    return {
        "boundary_m": _few(site["boundary_m"]),
        "holes_m": [_few(hole) for hole in site.get("holes_m", [])[:MOST_HOLES]],
        "entry_m": site["entry_m"],
        "burials_m": [one["position_m"] for one in document["burials"]],
        "searchers": len(document["searchers"]),
    }


def _few(ring: Sequence[Any]) -> list[Any]:
    step = -(-len(ring) // MOST_CORNERS)
    return list(ring[::step])
