"""A made course on record: people, drills, days, runs and splits, as the app would have kept them."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

from made_course import PEOPLE, MadeCourse

from coldfield.coaching.timed import TimedRun
from coldfield.files.drill_json import write_drill
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.store import Store

NAMES = {"ada": "Ines", "ben": "Bram", "cem": "Yuki", "dot": "Tomas"}
COURSE = "course-1"
SPLITS = {
    "first_signal": "first_signal",
    "within_10_m": "within_10_m",
    "lowest_reading": "lowest_reading",
    "probe_strike": "probe_strike",
    "airway": "airway_clear",
}
BEGUN = datetime(2026, 2, 10, 9, 0, tzinfo=UTC)


def _put(store: Store, kind: str, record_id: str, **fields) -> None:
    store.put(kind, record_id, read_form(kind, fields).fields(), based_on=None)


def keep_course(database: Database, course: MadeCourse, *, simulated: bool = False) -> None:
    with database.write() as connection:
        store = Store(connection, database.stamp())
        _put(store, "courses", COURSE, name="February course")
        for who in PEOPLE:
            _put(store, "people", who, name=NAMES[who])
            _put(store, "participants", f"p-{who}", course_id=COURSE, person_id=who)
        drills: dict = {}
        for number, run in enumerate(course.runs):
            if run.drill not in drills:
                drills[run.drill] = f"drill-{len(drills) + 1}"
                name = f"Drill {len(drills)}"
                _put(
                    store,
                    "drills",
                    drills[run.drill],
                    document=_document(run.drill, name),
                )
            day = f"day-{run.day.split()[-1]}"
            held = BEGUN + timedelta(days=int(run.day.split()[-1]), hours=number % 3)
            if number % 3 == 0:
                _put(store, "days", day, course_id=COURSE, date=held.date().isoformat())
            _run(store, run, drills[run.drill], day, held, number, simulated)


def _document(drill, name: str) -> dict:
    """A drill with two marked places on its edge, for the sheet's tapes."""
    told = json.loads(write_drill(drill))
    told["site"]["anchors"] = [
        {"name": "post 1", "position_m": [0, 0]},
        {"name": "post 2", "position_m": [40, 0]},
    ]
    return {**told, "name": name}


def _run(store, run: TimedRun, drill_id, day, held, number, simulated) -> None:
    _put(
        store,
        "runs",
        run.id,
        drill_id=drill_id,
        day_id=day,
        name=f"Run {number + 1}",
        held_utc=held.isoformat().replace("+00:00", "Z"),
        simulated=simulated,
        searchers=[{"searcher": s.id, "person_id": s.id} for s in run.drill.searchers],
    )
    zero = held.timestamp()
    _put(store, "splits", f"{run.id}-alarm", run_id=run.id, split="alarm", time_unix_s=zero)
    for burial, told in run.moments.items():
        for name, moment in told.items():
            _put(
                store,
                "splits",
                f"{run.id}-{burial}-{name}",
                run_id=run.id,
                split=SPLITS[name],
                burial=burial,
                searcher=moment.searcher,
                time_unix_s=round(zero + moment.t_s, 3),
            )
    _put(store, "splits", f"{run.id}-end", run_id=run.id, split="end", time_unix_s=zero + run.end_s)
