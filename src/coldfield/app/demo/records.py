"""The demo's records: an invented school's course, kit and people, and the run in the demo's files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from coldfield.drill.run import Split
from coldfield.files.observed import read_observed
from coldfield.records.checking import read_form
from coldfield.records.store import Store

DRILL_ID = "demo-drill"
RUN_ID = "demo-run"
DEBRIEF_ID = "demo-debrief"
PEOPLE = ("Ines", "Bram", "Yuki", "Tomas", "Adaeze", "Leif", "Noor", "Pia")
SETS = tuple(f"HL-{number:02d}" for number in range(1, 9))


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoRun:
    """The demo's run: the drill file, the splits, and the recorded tracks by the names of their files."""

    drill: Mapping[str, Any]
    splits: tuple[Split, ...]
    tracks: tuple[tuple[str, bytes], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeDemo:
    """The ids of the demo's records."""

    run_id: str
    drill_id: str
    debrief_id: str


def write_run(store: Store, content: DemoRun) -> None:
    """Write the school, its drill and its run, not debriefed yet."""
    _school(store)
    _run(store, content)


def _put(store: Store, kind_name: str, record_id: str, /, **fields: Any) -> None:
    store.put(kind_name, record_id, read_form(kind_name, fields).fields(), based_on=None)


def _school(store: Store) -> None:
    """Write people, kit, a course and its day of the Hollow Larch Rescue School; all of it invented."""
    for number, name in enumerate(PEOPLE):
        key = name.lower()
        _put(store, "people", key, name=name)
        figures = {
            "field_at_10m_ua_per_m": round(1.1 - 0.05 * number, 2),
            "period_s": round(0.93 + 0.02 * number, 2),
            "pulse_s": 0.09,
            "coaxial_range_m": 50.0 - 2.0 * number,
        }
        label = SETS[number]
        _put(store, "kit", label.lower(), kind="set", label=label, owner_id=key, figures=figures)
    for label in ("HL-P1", "HL-P2"):
        _put(store, "kit", label.lower(), kind="probe", label=label, notes="2.4 m")
    _put(store, "kit", "hl-s1", kind="shovel", label="HL-S1", state="to check", notes="blade bent")
    _put(store, "courses", "demo-course", name="Hollow Larch Rescue School: February course")
    for name in PEOPLE:
        role = "instructor" if name == "Pia" else "participant"
        key = name.lower()
        _put(store, "participants", f"demo-{key}", course_id="demo-course", person_id=key, role=role)


def _run(store: Store, content: DemoRun) -> None:
    drill = content.drill
    _put(store, "sites", "vardholm", name="Vardholm Bowl", document=drill["site"])
    day = {"course_id": "demo-course", "date": "2026-02-14", "site_id": "vardholm"}
    _put(store, "days", "demo-day", **day)
    _put(store, "drills", DRILL_ID, document=drill, site_id="vardholm")
    people = {name.lower() for name in PEOPLE}
    searchers = [
        {"searcher": one["id"], "person_id": key if (key := one["name"].lower()) in people else None}
        for one in drill["searchers"]
    ]
    _put(
        store,
        "runs",
        RUN_ID,
        drill_id=DRILL_ID,
        day_id="demo-day",
        name="Run 1, made in the computer",
        held_utc="2026-02-14T09:30:00Z",
        simulated=True,
        searchers=searchers,
    )
    _splits(store, content.splits)
    known = {one["searcher"]: one["person_id"] for one in searchers}
    for name, data in content.tracks:
        searcher = name.removesuffix(".gpx")
        told = {"size_bytes": len(data), "sha256": sha256(data).hexdigest(), "file_name": name}
        who = {"searcher": searcher, "person_id": known.get(searcher), "matched": "file name"}
        _put(store, "tracks", f"demo-{searcher}", run_id=RUN_ID, **told, **who)
        store.keep_file("tracks", f"demo-{searcher}", data)


def _splits(store: Store, rows: Sequence[Split]) -> None:
    for number, row in enumerate(rows, start=1):
        moment = {"run_id": RUN_ID, "searcher": row.searcher, "time_unix_s": row.time_unix_s}
        if row.split == "observation":
            about, seen, note = read_observed(row.note)
            _put(store, "observations", f"demo-{number:02d}", about=about, seen=seen, note=note, **moment)
        else:
            told = {"split": row.split, "burial": row.burial, "note": row.note}
            _put(store, "splits", f"demo-{number:02d}", **told, **moment)
