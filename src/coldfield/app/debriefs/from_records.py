"""Debrief a run on record: gather its records and keep the result."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from functools import partial
from hashlib import sha256
from importlib import metadata
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, Literal

import coldfield
from coldfield.app.answers import plain
from coldfield.app.day.kept import kept_items
from coldfield.app.day.reading import read_run
from coldfield.app.debriefs.from_files import MadeDebrief
from coldfield.app.debriefs.ground_zone import zone_of
from coldfield.app.debriefs.kept import site_on_earth
from coldfield.app.debriefs.once import phases_once
from coldfield.app.debriefs.to_check import Namesake, SplitAgain, namesakes, split_of, splits_again
from coldfield.app.jobs.job import Job
from coldfield.app.jobs.jobs import Finish
from coldfield.debrief.document import DebriefDocument
from coldfield.debrief.findings.yardsticks import EarlierRun
from coldfield.debrief.written import MadeBy
from coldfield.drill.run import Split
from coldfield.drill.skills import SKILLS
from coldfield.errors import BadInput, UnknownRecord
from coldfield.files.day_model import SEEN
from coldfield.files.debrief_json import read_debrief
from coldfield.files.observed import observed_split
from coldfield.message import Message, message
from coldfield.records.database import PATIENT_S, Database
from coldfield.records.history import earlier_debriefs
from coldfield.records.kinds import KINDS
from coldfield.records.store import Record, Store
from coldfield.rescue import is_this_model

MODELS = ("beacon", "debrief", "drill", "rescue", "search", "survival")
"""The packages whose code and constants a debrief depends on."""


BAND_RUNS = 200
"""Rehearsals of the drill as buried, for the bands beside the phases of a run. Setting."""


def debrief_arguments(database: Database, run_id: str) -> dict[str, Any]:
    """Return the arguments of the job 'debrief' for a run.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    BadInput
        If it has neither a track nor a split, or its splits do not share a clock.
    """
    with database.read() as connection:
        return _gathered(Store(connection, database.stamp()), run_id)


def _gathered(store: Store, run_id: str) -> dict[str, Any]:
    run = store.get("runs", run_id)
    tracks = used_tracks(store, run_id)
    rows = split_rows(store, run_id)
    if not tracks and not rows:
        raise BadInput(message("fault.run_is_empty"))
    _check_one_clock(rows)
    shifts_s = {track["file"]: track["clock_shift_s"] for track in tracks if track["clock_shift_s"]}
    if run["splits_shift_s"] is not None:
        shifts_s["splits"] = run["splits_shift_s"]
    return {
        "drill": as_run(store, run),
        "tracks": [
            {
                "file": track["file"],
                "content": store.file("tracks", track["id"]),
                "searcher": track["searcher"],
                "parts": track["parts"],
            }
            for track in tracks
        ],
        "splits": rows,
        "simulated": run["simulated"],
        "shifts_s": shifts_s,
        "standards": run["standards"],
        "earlier": _earlier(store, run_id),
        "band_runs": BAND_RUNS,
        "grid": kept_grid(store, run["drill_id"]),
        "held_unix_s": datetime.fromisoformat(run["held_utc"]).timestamp(),
        "diggers": told_to_dig(store, run_id),
    }


def told_to_dig(store: Store, run_id: str) -> dict[str, list[str]]:
    """Return burial -> the searchers assigned on a phone to dig there."""
    return {burial: list(who) for burial, who in read_run(kept_items(store, run_id=run_id)).digs.items()}


def kept_grid(store: Store, drill_id: str) -> dict[str, Any] | None:
    """Return the newest elevation grid of a drill, with its file; None if there is none."""
    grids = _grids(store, drill_id)
    if not grids:
        return None
    told = grids[-1]
    kept = {name: told[name] for name in ("file_name", "crs", "sha256")}
    return {**kept, "content": store.file("grids", told["id"])}


def _grids(store: Store, drill_id: str) -> list[Record]:
    return store.page("grids", where={"drill_id": drill_id}, limit=500)


def as_run(store: Store, run: Record) -> dict[str, Any]:
    """Return the drill file as run: burials as actually hidden, searchers under the names of the people."""
    drill = store.drill_version(run["drill_id"], run["drill_version"])
    if run["as_buried"] is not None:
        drill = {**drill, "burials": run["as_buried"]}
    names = people_names(store, run)
    searchers = [{**one, "name": names.get(one["id"], one["name"])} for one in drill["searchers"]]
    return {**drill, "searchers": searchers}


def people_names(store: Store, run: Record) -> dict[str, str]:
    """Return searcher -> name for searchers with a known person; each name is used only once."""
    names: dict[str, str] = {}
    for one in run["searchers"]:
        try:
            name = store.get("people", one["person_id"])["name"] if one["person_id"] else ""
        except UnknownRecord:
            continue
        if name and name not in names.values():
            names[one["searcher"]] = name
    return names


def used_tracks(store: Store, run_id: str) -> list[Record]:
    """Return the tracks that a debrief uses, each with `file`, a unique file name."""
    used: list[Record] = []
    for track in everything(store, "tracks", run_id):
        if left_out(track):
            continue
        stem, dot, ending = str(track["file_name"]).rpartition(".")
        taken = {one["file"] for one in used}
        names = [track["file_name"], *(f"{stem or ending} ({n}){dot}{ending}" for n in range(2, 500))]
        used.append({**track, "file": next(name for name in names if name not in taken)})
    return used


def left_out(track: Record) -> bool:
    """Return whether a track was marked as belonging to nobody."""
    return track["matched"] == "told" and track["searcher"] is None and not any(track["parts"])


def split_rows(store: Store, run_id: str) -> tuple[Split, ...]:
    """Return splits and observations of a run."""
    seen = everything(store, "observations", run_id)
    splits = (split_of(row) for row in everything(store, "splits", run_id))
    return (*splits, *(observed_split(row) for row in seen))


def _check_one_clock(rows: Sequence[Split]) -> None:
    absolute = any(row.time_unix_s is not None for row in rows)
    relative = any(row.since_alarm_s is not None for row in rows)
    alarm = any(row.split == "alarm" and row.time_unix_s is not None for row in rows)
    if absolute and relative and not alarm:
        raise BadInput(message("fault.alarm_without_time"))


def _earlier(store: Store, run_id: str) -> list[EarlierRun]:
    """Return what a debrief needs from earlier ones: the phases of people who are also in this run."""
    found = []
    for debrief_id, searchers in earlier_debriefs(store.connection, run_id).items():
        document = read_debrief(store.get("debriefs", debrief_id)["document"])
        theirs = phases_once(document, searchers)
        found.append(EarlierRun(model_version=document.model_version, phases=theirs))
    return found


def everything(store: Store, kind: str, run_id: str) -> list[Record]:
    """Return all records of a kind that belong to a run."""
    found: list[Record] = []
    while page := store.page(
        kind, where={"run_id": run_id}, after=found[-1]["id"] if found else None, limit=500
    ):
        found += page
    return found


def _fields(row: Record) -> dict[str, Any]:
    return {key: row[key] for key in ("split", "searcher", "burial", "time_unix_s", "since_alarm_s", "note")}


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptDebrief:
    """The id of a kept debrief, and what could not be used of the run."""

    debrief_id: str
    faults: tuple[Message, ...]


def keep_debrief(database: Database) -> Finish:
    """Return a function that keeps a finished debrief as a record under its job's id."""
    return partial(_keep, database)


def _keep(database: Database, job: Job, result: MadeDebrief) -> KeptDebrief:
    with database.write(wait_s=PATIENT_S) as connection:
        store = Store(connection, database.stamp())
        # Keep it only if the records are still the same: a person may have been forgotten meanwhile.
        if _gathered(store, job.order["run_id"]) != job.arguments:
            raise BadInput(message("fault.run_was_changed"))
        fields = debrief_fields(store, job.order["run_id"], result.document)
        store.put("debriefs", job.id, fields, based_on=None)
    return KeptDebrief(debrief_id=job.id, faults=tuple(result.faults))


def debrief_fields(store: Store, run_id: str, document: DebriefDocument) -> dict[str, Any]:
    """Return the fields of a debrief's record, including what made it and what it depends on.

    The model's version comes from the document, since only the maker of the document knows it.
    """
    sums = {str(part): digest for part, digest in rests_on(store, run_id).items()}
    made_by = replace(provenance(), model_version=document.model_version, rests_on=sums)
    fields = {"run_id": run_id, "made_by": plain(made_by), "document": plain(document)}
    return KINDS["debriefs"].form.model_validate(fields).fields()


def rests_on(store: Store, run_id: str) -> dict[Part, str]:
    """Return the SHA-256 of each part of the records that a run's debrief depends on."""
    run = store.get("runs", run_id)
    tracks = used_tracks(store, run_id)
    parts: dict[Part, Any] = {
        "drill": store.drill_version(run["drill_id"], run["drill_version"]),
        "people": [people_names(store, run), run["simulated"]],
        "splits": _summed_splits(store, run_id),
        "tracks": [[track[key] for key in ("file", "sha256", "searcher", "parts")] for track in tracks],
        "buried": run["as_buried"],
        "clocks": [[track["file"], track["clock_shift_s"] or 0.0] for track in tracks]
        + [["splits", run["splits_shift_s"]]]
        + ([["alarm", run["held_utc"]]] if _alarm_is_the_runs(store, run_id, tracks) else []),
        "standards": run["standards"],
        "earlier": sorted(earlier_debriefs(store.connection, run_id)),
        "ground": [[one["sha256"], one["crs"]] for one in _grids(store, run["drill_id"])],
    }
    return {
        name: sha256(json.dumps(part, sort_keys=True).encode()).hexdigest() for name, part in parts.items()
    }


Part = Literal["drill", "people", "splits", "tracks", "buried", "clocks", "standards", "earlier", "ground"]
"""The parts of the records that a debrief depends on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The state of a run's debrief: the newest one, what has changed since, whether the models have.

    `older_model`: figures and bands would be different today and cannot be compared with newer ones. `zone`
    is the time zone of the ground, null if the ground has no map position. `again` holds repeated splits,
    `namesakes` people who may have searched; a person should check both.
    """

    debrief_id: str | None
    made_utc: str | None
    changed: tuple[Part, ...]
    models: bool
    older_model: bool
    zone: str | None
    again: tuple[SplitAgain, ...]
    namesakes: tuple[Namesake, ...]


def _summed_splits(store: Store, run_id: str) -> list[dict[str, Any]]:
    """Return the splits as they enter the checksum: observations as kept, independent of language."""
    rows = [_fields(row) for row in everything(store, "splits", run_id)]
    for row in everything(store, "observations", run_id):
        words = row["about"].replace("_", " ") if row["about"] in SEEN else row["about"]
        words += " (not seen)" if row["seen"] is False else ""
        words += f": {row['note']}" if row["note"] else ""
        rows.append(_fields({**row, "split": "observation", "note": words}))
    rows += [{"burial": burial, "dig": who} for burial, who in told_to_dig(store, run_id).items()]
    return rows


def _alarm_is_the_runs(store: Store, run_id: str, tracks: Sequence[Record]) -> bool:
    """Return whether the time entered for a run is the only source for the time of its alarm."""
    rows = everything(store, "splits", run_id)
    return bool(rows) and not tracks and all(row["time_unix_s"] is None for row in rows)


def standing(database: Database, run_id: str) -> Standing:
    """Return the state of a run's debrief: the newest one, and what has changed since it was made."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        now = rests_on(store, run_id)
        run = store.get("runs", run_id)
        zone = zone_of(site_on_earth(store, run))
        again, alike = splits_again(everything(store, "splits", run_id)), namesakes(store, run)
        newest = store.page("debriefs", where={"run_id": run_id}, limit=1)
        if not newest:
            return Standing(
                debrief_id=None,
                made_utc=None,
                changed=(),
                models=True,
                older_model=False,
                zone=zone,
                again=again,
                namesakes=alike,
            )
        debrief = store.get("debriefs", newest[0]["id"])
    made_by = debrief["made_by"]
    before = made_by.get("rests_on", {})
    return Standing(
        debrief_id=debrief["id"],
        made_utc=debrief["created_utc"],
        changed=tuple(part for part, digest in now.items() if before.get(part, digest) != digest),
        models=made_by.get("models_sha256") == provenance().models_sha256,
        older_model=not is_this_model(made_by.get("model_version")),
        zone=zone,
        again=again,
        namesakes=alike,
    )


def provenance() -> MadeBy:
    """Return the versions of the models and constants behind a debrief: code as SHA-256."""
    from coldfield.survival.curves import DEFAULT

    return MadeBy(
        coldfield=coldfield.__version__,
        models_sha256={name: sum_of(name) for name in MODELS},
        libraries={name: metadata.version(name) for name in ("numpy", "scipy", "shapely", "numba")},
        constants={
            "skills": {name: asdict(skill) for name, skill in SKILLS.items()},
            "survival_curve": DEFAULT.name,
        },
    )


def sum_of(package: str) -> str:
    """Return the SHA-256 of a package's code, including subfolders."""
    digest = sha256()
    for name, code in _code_of(files(f"coldfield.{package}"), ""):
        digest.update(name.encode() + b"\0" + code + b"\0")
    return digest.hexdigest()


def _code_of(folder: Traversable, inside: str) -> Iterator[tuple[str, bytes]]:
    """Yield each code file with its path in the package, in order."""
    for one in sorted(folder.iterdir(), key=lambda one: one.name):
        if one.is_dir():
            yield from _code_of(one, f"{inside}{one.name}/")
        elif one.name.endswith(".py"):
            yield inside + one.name, one.read_bytes()
