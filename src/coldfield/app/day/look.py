"""What the phones recorded of a run, for its page; and a run or drill for the phone."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import select

from coldfield.app.day.answers import (
    DayBurial,
    DayClosed,
    DayDigs,
    DayMoment,
    DayPhone,
    DaySearcher,
    DaySet,
    RunCodes,
    RunDay,
)
from coldfield.app.day.clock import carried_run, folder_name
from coldfield.app.day.kept import kept_items
from coldfield.app.day.reading import DayRun, Moment, left_out, read_run
from coldfield.app.day.same_run import HERE
from coldfield.app.ground.pictures import picture_of_run, picture_under
from coldfield.files.code_picture import code_picture
from coldfield.files.day_file import ENDING, write_day_file
from coldfield.files.day_model import CarriedBurial, CarriedPerson, HeadLine, ItemLine, RunLine
from coldfield.files.drill_json import drill_from
from coldfield.files.run_code import MOST_JSON, write_run_code
from coldfield.records import schema
from coldfield.records.database import Database
from coldfield.records.store import Store


def day_of_run(database: Database, run_id: str) -> RunDay:
    """Return what phones recorded of a run.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    """
    with database.read() as connection:
        store = Store(connection, database.stamp())
        store.get("runs", run_id)
        items = kept_items(store, run_id=run_id)
        checks = store.page("group_checks", where={"run_id": run_id})
        tracks = _tracks_by_phone(store, run_id)
        ids = {one.phone for one in items if one.phone != HERE} | tracks.keys()
        phones = _phones(store, ids)
    run, out = read_run(items), {phone for _, phone in left_out(items)}
    first = [one.phone for one in run.shifts if one.phone in ids]
    return RunDay(
        phones=tuple(
            _phone(one, items, run, phones.get(one), tracks.get(one, []), one in out)
            for one in [*first, *sorted(ids.difference(first))]
        ),
        notes=tuple(_moment(one, one.item.words) for one in run.notes),
        left=tuple(_moment(one, one.item.split) for one in run.left),
        digs=tuple(DayDigs(burial=burial, searchers=tuple(who)) for burial, who in run.digs.items()),
        burials=tuple(
            DayBurial(burial=burial, state=one.state, words=one.words) for burial, one in run.burials.items()
        ),
        searchers=tuple(DaySearcher(id=who, name=name) for who, name in run.searchers.items()),
        sets=tuple(
            DaySet(burial=burial, set=one.set, state=one.state, by=one.by) for burial, one in run.sets.items()
        ),
        ticks=tuple(what for what, done in run.ticks.items() if done),
        closed=None
        if run.close is None
        else DayClosed(missing=tuple(run.close.missing), words=run.close.words),
        stopped=run.stop is not None,
        checks=tuple(checks),
    )


def _phones(store: Store, ids: set[str]) -> dict[str, Mapping[str, Any]]:
    table = schema.phone
    rows = store.connection.execute(select(table).where(table.c.id.in_(sorted(ids)))).mappings()
    return {row["id"]: dict(row) for row in rows}


def _tracks_by_phone(store: Store, run_id: str) -> dict[str, list[bool]]:
    """Return, by phone, whether each track that it sent for a run still counts."""
    table = schema.track
    query = select(table.c.phone_id, table.c.deletion_id)
    found: dict[str, list[bool]] = {}
    for row in store.connection.execute(query.where(table.c.run_id == run_id, table.c.phone_id.is_not(None))):
        found.setdefault(row.phone_id, []).append(row.deletion_id is None)
    return found


def _phone(
    phone: str,
    items: Sequence[ItemLine],
    run: DayRun,
    record: Mapping[str, Any] | None,
    tracks: Sequence[bool],
    out: bool,
) -> DayPhone:
    own = [one for one in items if one.phone == phone]
    shift = next((one for one in run.shifts if one.phone == phone), None)
    missing = 0
    for of in {one.of for one in own}:
        numbers = {one.n for one in own if one.of == of}
        missing += max(numbers) - len(numbers)
    return DayPhone(
        id=phone,
        name=record["name"] if record is not None else "",
        keeper=record["keeper"] if record is not None else "",
        items=len(own),
        missing=missing,
        shift_s=None if shift is None or shift.shift_ms is None else shift.shift_ms / 1000,
        by=None if shift is None else shift.by,
        tracks=len(tracks),
        left_out=out or (not own and not any(tracks)),
    )


def _moment(one: Moment[Any], words: str) -> DayMoment:
    return DayMoment(
        words=words,
        burial=one.burial,
        since_alarm_s=one.since_alarm_s,
        time_unix_s=one.at_ms / 1000,
    )


def drill_for_phone(database: Database, drill_id: str, **told: Any) -> tuple[str, bytes]:
    """Return a new run of a drill as a file for the phone, with the file's name; see `carried_run`.

    Raises
    ------
    UnknownRecord
        If there is no such drill.
    """
    return _file(*_of_drill(database, drill_id, {**told, "under": picture_under(database, drill_id)}))


def run_for_phone(database: Database, run_id: str, **told: Any) -> tuple[str, bytes]:
    """Return a recorded run as a file for the phone, with the file's name; see `carried_run`.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    """
    return _file(*_of_run(database, run_id, {**told, "under": picture_of_run(database, run_id)}))


def drill_as_codes(database: Database, drill_id: str, **told: Any) -> RunCodes:
    """Return a new run of a drill as codes for the phone's camera; see `carried_run`.

    Raises
    ------
    UnknownRecord
        If there is no such drill.
    BadInput
        If the run is too large for codes.
    """
    return _codes(_of_drill(database, drill_id, told)[0])


def run_as_codes(database: Database, run_id: str, **told: Any) -> RunCodes:
    """Return a recorded run as codes for the phone's camera; see `carried_run`.

    Raises
    ------
    UnknownRecord
        If there is no such run.
    BadInput
        If the run is too large for codes.
    """
    return _codes(_of_run(database, run_id, told)[0])


def _of_drill(database: Database, drill_id: str, told: Mapping[str, Any]) -> tuple[RunLine, str]:
    with database.read() as connection:
        store = Store(connection, database.stamp())
        drill = store.get("drills", drill_id)
        run = _carried(store, drill_id, drill["drill_version"], str(uuid.uuid4()), "", {}, told)
        return run, store.now_utc


def run_for_code(database: Database, run_id: str, *, people_only: bool = False) -> Iterator[str]:
    """Yield a run as text for a code: first complete, then with less and less content.

    Parameters
    ----------
    database : Database
        The records.
    run_id : str
        The run.
    people_only : bool
        Leave out the burials, for the searchers.
    """
    made, _ = _of_run(database, run_id, {})
    bare: dict[str, Any] = {"anchors": [], "boundary_m": None, "entry_m": None}
    named = [CarriedBurial(id=one.id, has_set=one.has_set) for one in made.burials]
    without = ({**bare, "burials": []},) if people_only else ({}, bare, {**bare, "burials": named})
    for left in (*without, {**without[-1], "searchers": []}):
        parts = write_run_code(made.model_copy(update=left))
        if len(parts) == 1:
            yield parts[0]


def _of_run(database: Database, run_id: str, told: Mapping[str, Any]) -> tuple[RunLine, str]:
    with database.read() as connection:
        store = Store(connection, database.stamp())
        row = store.get("runs", run_id)
        people = {one["searcher"]: one["person_id"] for one in row["searchers"]}
        run = _carried(store, row["drill_id"], row["drill_version"], run_id, row["name"], people, told)
        return run, store.now_utc


def _carried(
    store: Store,
    drill_id: str,
    version: int,
    run_id: str,
    name: str,
    people: Mapping[str, str | None],
    told: Mapping[str, Any],
) -> RunLine:
    drill = drill_from(store.drill_version(drill_id, version))
    run = carried_run(drill, run_id=run_id, name=name, drill_id=drill_id, drill_version=version, **told)
    sets = _sets(store)
    run.searchers = [_with_set(one, people.get(one.id), sets) for one in run.searchers]
    return run


def _file(run: RunLine, now_utc: str) -> tuple[str, bytes]:
    head = HeadLine(made_by="Coldfield", made_ms=round(_unix_s(now_utc) * 1000))
    return folder_name(run.name) + ENDING, write_day_file(head=head, runs=[run])


def _codes(run: RunLine) -> RunCodes:
    (whole,) = write_run_code(run, most_signs=MOST_JSON)
    return RunCodes(
        run=run.id, fragment=whole, codes=tuple(code_picture(part) for part in write_run_code(run))
    )


def _unix_s(stamp: str) -> float:
    from datetime import datetime

    return datetime.fromisoformat(stamp).timestamp()


def _sets(store: Store) -> dict[str, str]:
    """Return the stock number of each person's set, by id and by name, for people with exactly one set."""
    kit, person = schema.kit, schema.person
    query = (
        select(kit.c.label, person.c.id, person.c.name)
        .join(person, person.c.id == kit.c.owner_id)
        .where(kit.c.kind == "set", kit.c.deletion_id.is_(None), kit.c.state != "out of use")
        .where(person.c.deletion_id.is_(None), kit.c.label != "")
    )
    found: dict[str, set[str]] = {}
    for label, person_id, name in store.connection.execute(query):
        for key in (person_id, f"name {name.casefold()}"):
            found.setdefault(key, set()).add(label)
    return {key: labels.pop() for key, labels in found.items() if len(labels) == 1}


def _with_set(one: CarriedPerson, person_id: str | None, sets: Mapping[str, str]) -> CarriedPerson:
    label = sets.get(person_id) if person_id is not None else sets.get(f"name {one.name.casefold()}")
    return one.model_copy(update={"set": label}) if label is not None and len(label) <= 40 else one
