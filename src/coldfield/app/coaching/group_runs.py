"""A group's runs from the records: moments of each burial, from splits and, more precisely, from tracks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from coldfield.app.debriefs.from_records import as_run, rests_on, split_rows
from coldfield.coaching.timed import PRESSED_S, Moment, TimedRun
from coldfield.debrief.clocks.run_splits import TimedSplit, named, timed
from coldfield.debrief.document import DebriefDocument
from coldfield.drill.drill import Drill
from coldfield.drill.run import Split, Splits
from coldfield.errors import BadInput, ColdfieldError, UnknownRecord
from coldfield.files.debrief_json import read_debrief
from coldfield.files.drill_json import drill_from
from coldfield.message import Message, message
from coldfield.records.database import Database
from coldfield.records.store import Record, Store

SPLIT_MOMENTS: Mapping[str, str] = {
    "first_signal": "first_signal",
    "within_10_m": "within_10_m",
    "lowest_reading": "lowest_reading",
    "probe_strike": "probe_strike",
    "airway_clear": "airway",
}
"""The moment of a burial that each split records."""

TRACK_MOMENTS: Mapping[str, str] = {"signal": "turn", "coarse": "fine_start"}
"""The moment at which each phase of a track ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupRuns:
    """A group and its runs; `people` has names by person, in order of name.

    `group` is the course's name, '' for everybody on record. `held` is when each run was held, ISO 8601.
    `left_out` says why a run could not be used. `simulated` is true if no run was a real one.
    """

    group: str
    course_id: str | None
    people: Mapping[str, str]
    runs: tuple[TimedRun, ...]
    held: Mapping[str, str]
    left_out: tuple[Message, ...]
    simulated: bool


def group_runs(database: Database, course_id: str | None = None) -> GroupRuns:
    """Return the runs of a course, or of everybody on record.

    Runs made in the computer are used only where there are no real ones.

    Raises
    ------
    UnknownRecord
        If there is no such course.
    """
    with database.read() as connection:
        store = Store(connection, database.stamp())
        group = "" if course_id is None else str(store.get("courses", course_id)["name"])
        found = list(_runs(store, course_id))
        real = [run for run in found if not run["simulated"]]
        used, left = [], []
        for run in real or found:
            try:
                used.append(_timed_run(store, run))
            except ColdfieldError as error:
                left += [fault.at(run["name"] or run["id"]) for fault in _faults(error)]
        return GroupRuns(
            group=group,
            course_id=course_id,
            people=_people(store, course_id, used),
            runs=tuple(used),
            held={run["id"]: str(run["held_utc"]) for run in found},
            left_out=tuple(left),
            simulated=bool(found) and not real,
        )


def course_called(database: Database, name: str) -> str:
    """Return the id of the course with that id or name.

    Raises
    ------
    UnknownRecord
        If there is none, or more than one of that name.
    """
    with database.read() as connection:
        store = Store(connection, database.stamp())
        courses = list(_all(store, "courses"))
    for key in ("id", "name"):
        same = [one["id"] for one in courses if str(one[key]).casefold() == name.casefold()]
        if len(same) == 1:
            return str(same[0])
    raise UnknownRecord(message("fault.no_such_course", name=name, known=tuple(c["name"] for c in courses)))


def _faults(error: ColdfieldError) -> Sequence[Message]:
    return error.placed() if isinstance(error, BadInput) else (error.message,)


def _all(store: Store, kind: str, **where: str) -> Iterator[Record]:
    last: str | None = None
    while page := store.page(kind, where=where, after=last, limit=500):
        yield from page
        last = page[-1]["id"]


def _runs(store: Store, course_id: str | None) -> Iterator[Record]:
    """Yield the runs, oldest first; complete records, with their burials as found."""
    if course_id is None:
        listed = list(_all(store, "runs"))
    else:
        days = _all(store, "days", course_id=course_id)
        listed = [run for day in days for run in _all(store, "runs", day_id=day["id"])]
    for run in sorted(listed, key=lambda one: (one["held_utc"], one["id"])):
        yield store.get("runs", run["id"])


def _people(store: Store, course_id: str | None, runs: Sequence[TimedRun]) -> dict[str, str]:
    ids = {person for run in runs for person in run.people.values()}
    if course_id is not None:
        takes_part = _all(store, "participants", course_id=course_id)
        ids |= {one["person_id"] for one in takes_part if one["role"] == "participant"}
    names = {}
    for one in ids:
        with suppress(UnknownRecord):
            names[one] = str(store.get("people", one)["name"])
    return dict(sorted(names.items(), key=lambda pair: (pair[1].casefold(), pair[0])))


def _timed_run(store: Store, run: Record) -> TimedRun:
    drill = drill_from(as_run(store, run))
    rows = _rows(drill, split_rows(store, run["id"]))
    people = {one["searcher"]: one["person_id"] for one in run["searchers"] if one["person_id"]}
    moments = {b.id: _pressed(b.id, rows) for b in drill.burials}
    document = _debrief(store, run["id"])
    if document is not None:
        _sharpen(moments, document)
    return TimedRun(
        id=run["id"],
        name=run["name"] or str(run["held_utc"])[:16].replace("T", " "),
        day=run["day_id"] or str(run["held_utc"])[:10],
        drill=drill,
        people=people,
        moments={burial: told for burial, told in moments.items() if told},
        end_s=max((row.t_s for row in rows), default=0.0),
    )


def _rows(drill: Drill, splits: Sequence[Split]) -> tuple[TimedSplit, ...]:
    """Return splits in s since the alarm.

    Raises
    ------
    BadInput
        If there are none, or none is the alarm.
    """
    if not splits:
        raise BadInput(message("fault.run_without_splits"))
    found, _ = named(
        Splits(rows=tuple(splits)),
        searchers=[(s.id, s.name) for s in drill.searchers],
        burials=[b.id for b in drill.burials],
    )
    alarms = [row.time_unix_s for row in splits if row.split == "alarm" and row.time_unix_s is not None]
    if not alarms and any(row.time_unix_s is not None for row in splits):
        raise BadInput(message("fault.run_without_alarm"))
    zero = min(alarms, default=0.0)
    return timed(found, alarm_unix_s=zero, zero_unix_s=zero)


def _pressed(burial: str, rows: Sequence[TimedSplit]) -> dict[str, Moment]:
    """Return a burial's moments: the finder's if the finder is known, otherwise the first ones."""
    mine = [row for row in rows if row.burial == burial and row.split in SPLIT_MOMENTS and row.t_s >= 0.0]
    finder = next((row.searcher for row in mine if row.split == "probe_strike" and row.searcher), None)
    told: dict[str, Moment] = {}
    for split, name in SPLIT_MOMENTS.items():
        those = [row for row in mine if row.split == split]
        best = [row for row in those if row.searcher == finder] if split != "first_signal" else []
        for row in (best or those)[:1]:
            told[name] = Moment(t_s=row.t_s, searcher=row.searcher, unsure_s=PRESSED_S)
    return told


def _debrief(store: Store, run_id: str) -> DebriefDocument | None:
    """Return the newest debrief of a run, or None if something it depends on has changed since."""
    newest = store.page("debriefs", where={"run_id": run_id}, limit=1)
    if not newest:
        return None
    kept = store.get("debriefs", newest[0]["id"])
    before: Mapping[str, Any] = kept["made_by"].get("rests_on", {})
    now = rests_on(store, run_id)
    if any(before.get(part, digest) != digest for part, digest in now.items()):
        return None
    return read_debrief(kept["document"])


def _sharpen(moments: dict[str, dict[str, Moment]], document: DebriefDocument) -> None:
    """Add the moments that follow from the finders' tracks."""
    for searcher in document.searchers:
        if searcher.track is None:
            continue
        for phase in searcher.phases:
            name = TRACK_MOMENTS.get(phase.phase)
            told = moments.get(phase.burial or "")
            if name is None or told is None or name in told:
                continue
            strike = told.get("probe_strike")
            if strike is None or strike.searcher in (None, searcher.id):
                doubt = phase.border_uncertainty_s or 0.0
                told[name] = Moment(t_s=phase.end_s, searcher=searcher.id, unsure_s=max(doubt, PRESSED_S))
