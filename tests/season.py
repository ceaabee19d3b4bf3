"""Reproducible seasons of invented records of realistic size, and what pages request from them."""

from __future__ import annotations

import random
from collections.abc import Callable
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, Table, insert

from coldfield.records import schema
from coldfield.records.database import Database
from coldfield.records.first_look import first_look
from coldfield.records.history import person_history
from coldfield.records.kinds import KINDS
from coldfield.records.overview import course_overview, person_overview
from coldfield.records.store import Store
from example_records import DRILL

SEED = 457
COURSES, PEOPLE, RUNS, TRACKS = 50, 400, 3_000, 10_000
SPLITS = ("first_signal", "within_10_m", "lowest_reading", "probe_strike", "airway_clear")
NAMES = ("Ines", "Bram", "Yuki", "Tomas", "Adaeze", "Leif", "Noor", "Pia")
DRILLS = 40

Row = dict[str, Any]
Look = Callable[[Connection], Any]


def write_seasons(
    database: Database, scale: float = 1.0, *, tracks: int | None = None, track_bytes: int = 600
) -> None:
    """Write `scale` times the records of a realistic school into empty records.

    `tracks` and `track_bytes` are the number and size of track files; by default there are very many small
    ones.
    """
    with database.write() as connection:
        Seasons(connection, scale, tracks=tracks, track_bytes=track_bytes).write()


class Seasons:
    """One reproducible set of records, with ids such as run-00017."""

    def __init__(
        self, connection: Connection, scale: float, *, tracks: int | None = None, track_bytes: int = 600
    ) -> None:
        self.connection = connection
        self.rng = random.Random(SEED)
        self.courses, self.people = int(COURSES * scale), int(PEOPLE * scale)
        self.runs, self.tracks = int(RUNS * scale), int(TRACKS * scale) if tracks is None else tracks
        self.track_bytes = track_bytes

    def write(self) -> None:
        self._put(
            schema.person, [self._record(f"person-{i:05d}", **self._person(i)) for i in range(self.people)]
        )
        self._put(schema.kit, [self._record(f"kit-{i:05d}", **self._kit(i)) for i in range(self.people)])
        self._put(
            schema.course, [self._record(f"course-{i:04d}", **self._course(i)) for i in range(self.courses)]
        )
        self._put(schema.day, [self._record(f"day-{i:05d}", **self._day(i)) for i in range(self.courses * 3)])
        self._put(schema.participant, self._participants())
        self._put(schema.drill, [self._record(f"drill-{i:03d}", **self._drill(i)) for i in range(DRILLS)])
        versions = [
            {"drill_id": f"drill-{i:03d}", "number": 1, "created_utc": self._stamp(0), "document": DRILL}
            for i in range(DRILLS)
        ]
        self.connection.execute(insert(schema.drill_version), versions)
        self._runs()
        self._tracks()

    def _put(self, table: Table, rows: list[Row]) -> None:
        self.connection.execute(insert(table), rows)

    def _stamp(self, day: int) -> str:
        year, rest = divmod(day % 3650, 365)
        return f"{2016 + year}-{rest // 31 + 1:02d}-{rest % 28 + 1:02d}T09:30:00.000Z"

    def _record(self, key: str, **fields: Any) -> Row:
        moment = self._stamp(int(key.rpartition("-")[2]) if key[-1].isdigit() else 0)
        return {
            "id": key,
            "version": 1,
            "created_utc": moment,
            "changed_utc": moment,
            "deletion_id": None,
            **fields,
        }

    def _person(self, i: int) -> Row:
        return {"name": f"{NAMES[i % 8]} {i:05d}", "contact": "", "notes": "x" * self.rng.randrange(200)}

    def _kit(self, i: int) -> Row:
        owner = f"person-{self.rng.randrange(self.people):05d}"
        kind = ("set", "probe", "shovel")[i % 3]
        return {"kind": kind, "label": f"HL-{i:05d}", "owner_id": owner, "state": "in use", "notes": ""}

    def _course(self, i: int) -> Row:
        return {"name": f"Course {i:04d}", "notes": ""}

    def _day(self, i: int) -> Row:
        date = self._stamp(i * 7)[:10]
        return {"course_id": f"course-{i // 3:04d}", "date": date, "site_id": None, "notes": ""}

    def _participants(self) -> list[Row]:
        rows = []
        for course in range(self.courses):
            for person in self.rng.sample(range(self.people), 8):
                key = f"part-{course:04d}{person:05d}"
                part = {"course_id": f"course-{course:04d}", "person_id": f"person-{person:05d}"}
                rows.append(self._record(key, role="participant", **part))
        return rows

    def _drill(self, i: int) -> Row:
        return {"name": f"Drill {i:03d}", "site_id": None, "notes": "", "drill_version": 1}

    def _runs(self) -> None:
        runs, people, splits = [], [], []
        for i in range(self.runs):
            key, moment = f"run-{i:05d}", self._stamp(i)
            day = f"day-{self.rng.randrange(self.courses * 3):05d}"
            told = {
                "drill_id": f"drill-{i % DRILLS:03d}",
                "drill_version": 1,
                "day_id": day,
                "held_utc": moment,
            }
            more = {"name": f"Run {i}", "simulated": False, "notes": "", "as_buried": None}
            runs.append(self._record(key, **told, **more))
            for searcher, person in zip(("s1", "s2"), self.rng.sample(range(self.people), 2), strict=True):
                who = {"run_id": key, "searcher": searcher, "person_id": f"person-{person:05d}"}
                people.append({**who, "held_utc": moment})
            splits += self._splits(key, i)
        self._put(schema.run, runs)
        self.connection.execute(insert(schema.run_searcher), people)
        self._put(schema.split, splits)

    def _splits(self, run: str, i: int) -> list[Row]:
        rows = []
        for number, (searcher, split) in enumerate((s, name) for s in ("s1", "s2") for name in SPLITS):
            told = {"run_id": run, "split": split, "searcher": searcher, "burial": "AB"[number // 5]}
            moment = {"time_unix_s": None, "since_alarm_s": 60.0 * (number % 5) + self.rng.random() * 50}
            rows.append(self._record(f"split-{i:05d}{number:02d}", note="", **told, **moment))
        return rows

    def _tracks(self) -> None:
        rows: list[Row] = []
        contents: list[Row] = []
        for i in range(self.tracks):
            content = self.rng.randbytes(self.track_bytes // 2).hex().encode()
            told = {
                "file_name": f"{i}.gpx",
                "size_bytes": len(content),
                "sha256": sha256(content).hexdigest(),
            }
            who = {"searcher": "s1", "person_id": f"person-{self.rng.randrange(self.people):05d}"}
            key = f"track-{i:06d}"
            rows.append(self._record(key, run_id=f"run-{i % self.runs:05d}", **told, **who))
            contents.append({"track_id": key, "content": content})
            if i == self.tracks - 1 or len(rows) * self.track_bytes > 20_000_000:
                self._put(schema.track, rows)
                self.connection.execute(insert(schema.original), contents)
                rows, contents = [], []


def looks() -> dict[str, Look]:
    """Return everything a page requests when it opens: each list, its later pages, its filters, histories."""

    def listed(kind: str, **how: Any) -> Look:
        return lambda connection: Store(connection, "").page(kind, **{"limit": 100, **how})

    found = {f"list {kind}": listed(kind) for kind in KINDS}
    found |= {
        "runs, a later page": listed("runs", after="run-00100"),
        "people, a later page": listed("people", after="person-00050"),
        "runs of a day": listed("runs", where={"day_id": "day-00007"}),
        "runs of a drill": listed("runs", where={"drill_id": "drill-007"}, limit=15),
        "splits of a run": listed("splits", where={"run_id": "run-00007"}),
        "tracks of a run": listed("tracks", where={"run_id": "run-00007"}),
        "tracks of a person": listed("tracks", where={"person_id": "person-00007"}),
        "kit of a person": listed("kit", where={"owner_id": "person-00007"}),
        "days of a course": listed("days", where={"course_id": "course-0007"}),
        "participants of a course": listed("participants", where={"course_id": "course-0007"}),
        "courses of a person": listed("participants", where={"person_id": "person-00007"}),
        "history of a person": lambda connection: person_history(connection, "person-00007"),
        "history, a later page": lambda c: person_history(c, "person-00007", before="run-00100", limit=10),
        "a person at a glance": lambda connection: person_overview(connection, "person-00007"),
    }
    return found


def searches() -> dict[str, Look]:
    """Return searches that scan the records until a page is full: common, rare and missing words."""

    def found(kind: str, **how: Any) -> Look:
        return lambda connection: Store(connection, "").page(kind, **{"limit": 100, **how})

    return {
        "people called Ines": found("people", find="ines"),
        "people, in none": found("people", find="nobody at all"),
        "kit, by its label": found("kit", find="hl-00399"),
        "kit, by its owner": found("kit", find="PIA"),
        "kit to check": found("kit", where={"state": "to check"}),
        "courses": found("courses", find="course 0049"),
        "drills": found("drills", find="drill 039"),
        "runs, rare": found("runs", find="run 2999"),
        "runs, by drill": found("runs", find="drill 007"),
        "runs, in none": found("runs", find="nobody at all"),
        "the first page": lambda connection: first_look(connection, today="2020-01-01"),
        "a course at a glance": lambda connection: course_overview(connection, "course-0007"),
    }
