"""Debrief a recorded run: gather what the records hold of it, keep what comes out."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from hashlib import sha256
from importlib import metadata
from importlib.resources import files
from typing import Any

import coldfield
from coldfield.app.jobs import Finish, Job
from coldfield.drill.skills import SKILLS
from coldfield.errors import BadInput
from coldfield.records.database import Database
from coldfield.records.kinds import KINDS
from coldfield.records.store import Record, Store

MODELS = ("beacon", "debrief", "drill", "rescue", "search", "survival")
"""The packages whose code and constants a debrief rests on."""


def debrief_arguments(database: Database, run_id: str) -> dict[str, Any]:
    """Return what the work 'debrief' needs of a run.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    BadInput
        If it has no track.
    """
    with database.read() as connection:
        return _gathered(Store(connection, database.stamp()), run_id)


def _gathered(store: Store, run_id: str) -> dict[str, Any]:
    run = store.get("runs", run_id)
    drill = store.drill_version(run["drill_id"], run["drill_version"])
    tracks = everything(store, "tracks", run_id)
    if not tracks:
        raise BadInput("this run has no track yet; add one, then debrief it")
    rows = [_split(row) for row in everything(store, "splits", run_id)]
    rows += [_observed(row) for row in everything(store, "observations", run_id) if _timed(row)]
    if run["as_buried"] is not None:
        drill = {**drill, "burials": run["as_buried"]}
    return {
        "drill": drill,
        "tracks": [(_named(track), store.original(track["id"])) for track in tracks],
        "splits": rows,
        "simulated": run["simulated"],
    }


def everything(store: Store, kind: str, run_id: str) -> list[Record]:
    """Return all records of a kind that belong to a run."""
    found: list[Record] = []
    while page := store.page(
        kind, where={"run_id": run_id}, after=found[-1]["id"] if found else None, limit=500
    ):
        found += page
    return found


def _named(track: Record) -> str:
    """A track whose searcher is told is named after them: that is how a debrief knows whose it is."""
    name = str(track["file_name"])
    if track["searcher"] is None:
        return name
    return f"{track['searcher']}.{name.rpartition('.')[2]}"


def _split(row: Record) -> dict[str, Any]:
    return {key: row[key] for key in ("split", "searcher", "burial", "time_unix_s", "since_alarm_s", "note")}


def _timed(row: Record) -> bool:
    return row["time_unix_s"] is not None


def _observed(row: Record) -> dict[str, Any]:
    seen = {True: "", False: " (not seen)", None: ""}[row["seen"]]
    note = f": {row['note']}" if row["note"] else ""
    return {
        "split": "observation",
        "searcher": row["searcher"],
        "time_unix_s": row["time_unix_s"],
        "note": f"{row['about']}{seen}{note}",
    }


def keep_debrief(database: Database) -> Finish:
    """Return what keeps a finished debrief as a record under its job's id."""
    return partial(_keep, database)


def _keep(database: Database, job: Job, result: dict[str, Any]) -> dict[str, Any]:
    fields = {
        "run_id": job.order["run_id"],
        "made_by": provenance(),
        "document": result["document"],
    }
    form = KINDS["debriefs"].form.model_validate(fields)
    with database.write() as connection:
        store = Store(connection, database.stamp())
        # Kept only if it still rests on what the records hold: a person may have been forgotten meanwhile.
        if _gathered(store, job.order["run_id"]) != job.arguments:
            raise BadInput("the run was changed while it was debriefed; debrief it again")
        store.put("debriefs", job.id, form.fields(), based_on=None)
    return {"debrief_id": job.id, "faults": result["faults"]}


def provenance() -> dict[str, Any]:
    """Return the versions of models and constants that make a debrief: code by SHA-256."""
    from coldfield.survival.curves import DEFAULT

    return {
        "coldfield": coldfield.__version__,
        "models_sha256": {name: _sum_of(name) for name in MODELS},
        "libraries": {name: metadata.version(name) for name in ("numpy", "scipy", "shapely", "numba")},
        "constants": {
            "skills": {name: asdict(skill) for name, skill in SKILLS.items()},
            "survival_curve": DEFAULT.name,
        },
    }


def _sum_of(package: str) -> str:
    digest = sha256()
    for file in sorted(files(f"coldfield.{package}").iterdir(), key=lambda file: file.name):
        if file.name.endswith(".py"):
            digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()
