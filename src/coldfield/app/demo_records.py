"""The demo on records: an invented school's course, kit, people and the run that the demo's files tell of."""

from __future__ import annotations

import json
from hashlib import sha256
from pathlib import Path
from typing import Any

from coldfield.app.drills import load_splits, read_bytes
from coldfield.app.records import MOST_TRACK_BYTES, read_form
from coldfield.app.run_debrief import debrief_arguments, debrief_fields
from coldfield.app.work import debrief_work
from coldfield.records.database import Database
from coldfield.records.store import Store

RUN_ID = "demo-run"
DEBRIEF_ID = "demo-debrief"
PEOPLE = ("Ines", "Bram", "Yuki", "Tomas", "Adaeze", "Leif", "Noor", "Pia")
SETS = tuple(f"HL-{number:02d}" for number in range(1, 9))


def fill_demo(database: Database, place: Path) -> bool:
    """Write the demo into empty records; return False, and write nothing, where there are any.

    Parameters
    ----------
    database : Database
        The records.
    place : Path
        The folder that `write_demo` filled: drill.json, splits.csv, tracks.
    """
    with database.write() as connection:
        store = Store(connection, database.stamp())
        if store.page("people", limit=1) or store.page("drills", limit=1):
            return False
        _school(store)
        _run(store, place)
    told = debrief_work(**debrief_arguments(database, RUN_ID), progress=lambda _done, _total: None)
    with database.write() as connection:
        store = Store(connection, database.stamp())
        fields = debrief_fields(store, RUN_ID, told["document"])
        store.put("debriefs", DEBRIEF_ID, fields, based_on=None)
    return True


def _put(store: Store, kind_name: str, record_id: str, /, **fields: Any) -> None:
    store.put(kind_name, record_id, read_form(kind_name, fields).fields(), based_on=None)


def _school(store: Store) -> None:
    """Write people, kit, a course and its day of the Hollow Larch Rescue School; all of it invented."""
    for number, name in enumerate(PEOPLE):
        key = name.lower()
        _put(store, "people", key, name=name)
        _put(store, "kit", SETS[number].lower(), kind="set", label=SETS[number], owner_id=key)
    for label in ("HL-P1", "HL-P2"):
        _put(store, "kit", label.lower(), kind="probe", label=label, notes="2.4 m")
    _put(store, "kit", "hl-s1", kind="shovel", label="HL-S1", state="to check", notes="blade bent")
    _put(store, "courses", "demo-course", name="Hollow Larch Rescue School: February course")
    for name in PEOPLE:
        role = "instructor" if name == "Pia" else "participant"
        key = name.lower()
        _put(store, "participants", f"demo-{key}", course_id="demo-course", person_id=key, role=role)


def _run(store: Store, place: Path) -> None:
    drill = json.loads((place / "drill.json").read_text(encoding="utf-8"))
    _put(store, "sites", "vardholm", name="Vardholm Bowl", document=drill["site"])
    day = {"course_id": "demo-course", "date": "2026-02-14", "site_id": "vardholm"}
    _put(store, "days", "demo-day", **day)
    _put(store, "drills", "demo-drill", document=drill, site_id="vardholm")
    people = {name.lower() for name in PEOPLE}
    searchers = [
        {"searcher": one["id"], "person_id": key if (key := one["name"].lower()) in people else None}
        for one in drill["searchers"]
    ]
    _put(
        store,
        "runs",
        RUN_ID,
        drill_id="demo-drill",
        day_id="demo-day",
        name="Run 1, made in the computer",
        held_utc="2026-02-14T09:30:00Z",
        simulated=True,
        searchers=searchers,
    )
    _splits(store, place)
    known = {one["searcher"]: one["person_id"] for one in searchers}
    for path in sorted((place / "tracks").glob("*.gpx")):
        content = read_bytes(path, most_bytes=MOST_TRACK_BYTES)
        told = {"size_bytes": len(content), "sha256": sha256(content).hexdigest(), "file_name": path.name}
        who = {"searcher": path.stem, "person_id": known.get(path.stem), "matched": "file name"}
        _put(store, "tracks", f"demo-{path.stem}", run_id=RUN_ID, **told, **who)
        store.keep_original(f"demo-{path.stem}", content)


def _splits(store: Store, place: Path) -> None:
    for number, row in enumerate(load_splits(place / "splits.csv").rows, start=1):
        moment = {"run_id": RUN_ID, "searcher": row.searcher, "time_unix_s": row.time_unix_s}
        if row.split == "observation":
            _put(store, "observations", f"demo-{number:02d}", about=row.note, **moment)
        else:
            told = {"split": row.split, "burial": row.burial, "note": row.note}
            _put(store, "splits", f"demo-{number:02d}", **told, **moment)
