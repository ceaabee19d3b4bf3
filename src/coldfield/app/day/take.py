"""Bring a day file into the records: each item once, into its run or group check, all or nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import insert, select

from coldfield.app.day.answers import DayFileTaken, DayTaken
from coldfield.app.day.joining import Same
from coldfield.app.day.kept import kept_items
from coldfield.app.day.kit import to_kit
from coldfield.app.day.reading import DayRun, read_check, read_run
from coldfield.app.day.records import Found, as_buried, check_of, moment, records_of
from coldfield.app.day.same_run import joined, same_items
from coldfield.errors import BadInput
from coldfield.files.day_file import MOST_LINES, DayFile, read_day_file
from coldfield.files.day_model import (
    CheckedItem,
    CheckEndItem,
    CheckItem,
    ItemLine,
    RunLine,
    SameItem,
)
from coldfield.files.drill_json import drill_from
from coldfield.message import Message, message
from coldfield.records import schema
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.kinds import KINDS
from coldfield.records.store import Record, Store

_STAMP = ("line", "id", "of", "phone", "n")
_PAGE = 400


def take_day_file(
    database: Database,
    content: bytes,
    file_name: str,
    *,
    of: str | None = None,
    run_id: str | None = None,
    drill_id: str | None = None,
    same: Same | None = None,
    look: bool = False,
    language: str | None = None,
) -> DayFileTaken:
    """Keep what a phone recorded, each item once; items without a run are reported and not kept.

    A run is found by items kept already or by its id; otherwise it is created on the drill that it was
    prepared from. Everything is written in one transaction.

    Parameters
    ----------
    database : Database
        The records.
    content : bytes
        The day file.
    file_name : str
        Its name, put before a fault that stops reading.
    of : str, optional
        The run in the file that `run_id` or `drill_id` refers to; None: every run that matches no record.
    run_id, drill_id : str, optional
        Join it to this run, or create a new run of this drill.
    same : pair of mappings, optional
        The phone's burials and searchers -> those of the drill; None: `joining.usual`.
    look : bool
        Keep nothing of the run to be joined; only report which burial is matched with which.
    language : str, optional
        The language in which faults of sets are written into the kit list.

    Raises
    ------
    BadInput
        If it is not a day file, cannot be read at all, or `same` uses a name twice.
    UnknownRecord
        If there is no such run or drill.
    """
    day = read_day_file(content, file_name)
    with database.write() as connection:
        taking = Taking(Store(connection, database.stamp()), day, same, look, language)
        runs, checks = taking.all(of, run_id, drill_id)
    if not day.items:
        taking.faults.append(message("fault.nothing_happened"))
    return DayFileTaken(runs=tuple(runs), checks=tuple(checks), faults=tuple(taking.faults))


class Taking:
    """Brings one day file in, within one transaction; see `take_day_file`."""

    def __init__(
        self, store: Store, day: DayFile, same: Same | None, look: bool, language: str | None
    ) -> None:
        self.store = store
        self.same = same
        self.look = look
        self.language = language
        self.day = day
        self.faults = list(day.faults)
        self.lines = {one.id: one for one in day.runs}

    def all(
        self, of: str | None, run_id: str | None, drill_id: str | None
    ) -> tuple[list[DayTaken], list[DayTaken]]:
        """Keep every run and check of the file; return what was done with each."""
        groups: dict[str, list[ItemLine]] = {}
        for item in self.day.items:
            groups.setdefault(item.of, []).append(item)
        runs: list[DayTaken] = []
        checks: list[DayTaken] = []
        for name, items in groups.items():
            if self.look and name != of:
                continue
            if self._is_check(name, items):
                checks.append(self._check(name, items))
            else:
                meant = of is None or of == name
                target = (run_id, drill_id) if meant else (None, None)
                runs.append(self._run(name, items, *target))
        return runs, checks

    def _is_check(self, of: str, items: Sequence[ItemLine]) -> bool:
        if any(isinstance(one, (CheckItem, CheckedItem, CheckEndItem)) for one in items):
            return True
        return _row(self.store, "group_checks", of) is not None

    # --- a run --------------------------------------------------------------------------------------

    def _run(self, of: str, items: Sequence[ItemLine], run_id: str | None, drill_id: str | None) -> DayTaken:
        line = self.lines.get(of)
        fresh, there = self._fresh(items)
        name = line.name if line is not None else ""
        taken = _nothing_kept(of, name, items, there)
        if self.look:
            return replace(taken, waits="same", joined=joined(self.store, items, run_id, drill_id))
        run, created = self._target(of, line, items, run_id, drill_id)
        if run is None:
            return replace(taken, waits="drill")
        if run["deletion_id"] is not None:
            self.faults.append(message("fault.run_is_deleted", name=run["name"] or run["id"]))
            return replace(taken, waits="deleted")
        before_items = kept_items(self.store, run_id=run["id"])
        if len(before_items) + len(fresh) > MOST_LINES:
            raise BadInput(message("fault.most_run_items", most=MOST_LINES))
        new: list[ItemLine] = list(fresh)
        if run_id is not None or drill_id is not None:
            new += same_items(self.store, run, of, items, before_items, self.same)
        before, after = read_run(before_items), read_run([*before_items, *new])
        self._keep_items(new, run_id=run["id"])
        _follow(self.store, records_of(before, run["id"]), records_of(after, run["id"]))
        self._held(run, before_items, new)
        self._as_buried(run, before, after, line)
        self._with_checks(of, run["id"])
        return replace(taken, id=run["id"], name=run["name"] or name, created=created, kept=len(fresh))

    def _target(
        self,
        of: str,
        line: RunLine | None,
        items: Sequence[ItemLine],
        run_id: str | None,
        drill_id: str | None,
    ) -> tuple[Mapping[str, Any] | None, bool]:
        """Return the run that items belong to, and whether it was created for them."""
        known = self._run_of(of)
        if known is not None and (row := _row(self.store, "runs", known)) is not None:
            return row, False
        if run_id is not None:
            return self.store.get("runs", run_id), False
        if drill_id is not None:
            return self._new_run(of, line, items, self.store.get("drills", drill_id)), True
        drill = _row(self.store, "drills", line.drill_id) if line is not None and line.drill_id else None
        if drill is None or drill["deletion_id"] is not None:
            return None, False
        return self._new_run(of, line, items, self.store.get("drills", drill["id"])), True

    def _new_run(
        self, of: str, line: RunLine | None, items: Sequence[ItemLine], drill: Record
    ) -> Mapping[str, Any]:
        version = drill["drill_version"]
        if line is not None and line.drill_id == drill["id"] and line.drill_version is not None:
            version = min(line.drill_version, version)
        latest = self.store.page("runs", where={"drill_id": drill["id"]}, limit=1)
        like = {key: latest[0][key] for key in ("searchers", "standards")} if latest else {}
        if latest and latest[0]["drill_version"] != version:
            like = {}
        told = {
            "drill_id": drill["id"],
            "drill_version": version,
            "name": line.name if line is not None else "",
            "held_utc": moment(_began_ms(items) or 0),
            **like,
        }
        return self.store.put("runs", of, read_form("runs", told).fields(), based_on=None).record

    def _held(self, run: Mapping[str, Any], before: Sequence[ItemLine], new: Sequence[ItemLine]) -> None:
        """Update when the run was held as more becomes known, unless somebody entered another time here."""
        was, now = _began_ms(before), _began_ms([*before, *new])
        if was is None or now is None or was == now:
            return
        stored = self.store.get("runs", run["id"])
        if stored["held_utc"] == moment(was):
            fields = {key: stored[key] for key in KINDS["runs"].form.model_fields} | {"held_utc": moment(now)}
            self.store.put("runs", run["id"], read_form("runs", fields).fields(), based_on=stored["version"])

    def _with_checks(self, of: str, run_id: str) -> None:
        """Attach a group check that was made before this run and arrived before it."""
        item = schema.day_item
        query = select(item.c.check_id).where(
            item.c.check_id.is_not(None),
            item.c.told["kind"].as_string() == "check",
            item.c.told["run"].as_string() == of,
        )
        for check_id in sorted(set(self.store.connection.execute(query).scalars())):
            row = _row(self.store, "group_checks", check_id)
            if row is None or row["deletion_id"] is not None or row["run_id"] is not None:
                continue
            fields = {key: row[key] for key in KINDS["group_checks"].form.model_fields} | {"run_id": run_id}
            form = read_form("group_checks", fields).fields()
            self.store.put("group_checks", check_id, form, based_on=row["version"])

    def _run_of(self, of: str) -> str | None:
        """Return the run that items of `of` belong to here, even if it is deleted."""
        table = schema.day_item
        query = select(table.c.run_id).where(table.c.of == of, table.c.run_id.is_not(None)).limit(1)
        for one in (self.store.connection.execute(query).scalar_one_or_none(), of):
            row = _row(self.store, "runs", one) if one is not None else None
            if row is not None:
                return str(row["id"])
        return None

    def _as_buried(self, run: Mapping[str, Any], before: DayRun, after: DayRun, line: RunLine | None) -> None:
        """Write what was recorded about the burials, unless somebody has edited them here."""
        stored = self.store.get("runs", run["id"])
        drill = self.store.drill_version(stored["drill_id"], stored["drill_version"])
        anchors = [one.model_dump() for one in line.anchors] if line is not None else []
        was, now = as_buried(before, drill, anchors), as_buried(after, drill, anchors)
        if was == now or stored["as_buried"] not in (None, was):
            return
        try:
            if now is not None:
                drill_from({**drill, "burials": now}, "")
            fields = {key: stored[key] for key in KINDS["runs"].form.model_fields} | {"as_buried": now}
            form = read_form("runs", fields).fields()
        except BadInput as error:
            self.faults += [_as_hidden(fault) for fault in error.faults]
            return
        self.store.put("runs", run["id"], form, based_on=stored["version"])

    # --- a group check ------------------------------------------------------------------------------

    def _check(self, of: str, items: Sequence[ItemLine]) -> DayTaken:
        fresh, there = self._fresh(items)
        taken = _nothing_kept(of, "", items, there)
        row = _row(self.store, "group_checks", of)
        if row is not None and row["deletion_id"] is not None:
            self.faults.append(message("fault.check_is_deleted"))
            return replace(taken, waits="deleted")
        before = kept_items(self.store, check_id=of) if row is not None else []
        if len(before) + len(fresh) > MOST_LINES:
            raise BadInput(message("fault.most_check_items", most=MOST_LINES))
        found = read_check([*before, *fresh])
        run = found.begun.item.run if found.begun is not None else None
        run_id = self._run_of(run) if run is not None else None
        fields = read_form("group_checks", check_of(found, run_id)).fields()
        put = self.store.put("group_checks", of, fields, based_on=None if row is None else row["version"])
        self._keep_items(fresh, check_id=of)
        known = check_of(read_check(before), None)["checked"] if before else []
        to_kit(self.store, [one for one in put.record["checked"] if one not in known], self.language)
        return replace(taken, id=of, created=put.created, kept=len(fresh), name=put.record["leader"])

    # --- items --------------------------------------------------------------------------------------

    def _fresh(self, items: Sequence[ItemLine]) -> tuple[list[ItemLine], int]:
        """Return the items that are not here yet, and the number that are; the first item of an id stays."""
        table = schema.day_item
        here: dict[str, Mapping[str, Any]] = {}
        for start in range(0, len(items), _PAGE):
            ids = [one.id for one in items[start : start + _PAGE]]
            rows = self.store.connection.execute(select(table).where(table.c.id.in_(ids))).mappings()
            here |= {row["id"]: row for row in rows}
        for item in items:
            row = here.get(item.id)
            if row is not None and columns_of(item) != {
                key: row[key] for key in ("of", "phone", "n", "told")
            }:
                self.faults.append(message("fault.item_is_here", id=item.id))
        fresh = [one for one in items if one.id not in here]
        return fresh, len(items) - len(fresh)

    def _keep_items(
        self, items: Sequence[ItemLine], *, run_id: str | None = None, check_id: str | None = None
    ) -> None:
        stamps = {"version": 1, "created_utc": self.store.now_utc, "changed_utc": self.store.now_utc}
        whose = {"run_id": run_id, "check_id": check_id}
        rows = [{"id": one.id, **stamps, **whose, **columns_of(one)} for one in items]
        if rows:
            self.store.connection.execute(insert(schema.day_item), rows)
        wrote = {one.phone for one in items}
        for line in self.day.phones:
            row = _row(self.store, "phones", line.id)
            if line.id in wrote and (row is None or row["deletion_id"] is None):
                fields = read_form("phones", {"name": line.name, "keeper": line.keeper}).fields()
                based_on = None if row is None else row["version"]
                self.store.put("phones", line.id, fields, based_on=based_on)


def columns_of(item: ItemLine) -> dict[str, Any]:
    """Return the columns of an item besides its id and its run or check."""
    told = item.model_dump(exclude=set(_STAMP))
    return {"of": item.of, "phone": item.phone, "n": item.n, "told": told}


def _row(store: Store, kind: str, record_id: str) -> Mapping[str, Any] | None:
    """Return a row of a kind, even if it is deleted."""
    table = KINDS[kind].table
    row = store.connection.execute(select(table).where(table.c.id == record_id)).mappings().first()
    return None if row is None else dict(row)


def _follow(store: Store, before: Found, after: Found) -> None:
    """Write what new items change; everything else stays, including edits made here."""
    for (kind, record_id), fields in after.items():
        if before.get((kind, record_id)) == fields:
            continue
        row = _row(store, kind, record_id)
        if row is not None and row["deletion_id"] is not None:
            if (kind, record_id) in before:
                continue
            store.undo(row["deletion_id"])
        form = read_form(kind, fields).fields()
        store.put(kind, record_id, form, based_on=None if row is None else row["version"])
    for kind, record_id in before.keys() - after.keys():
        if _row(store, kind, record_id) is not None:
            store.delete(kind, record_id)


def _as_hidden(fault: Message) -> Message:
    """Return a fault of the drill as a fault of its burials as hidden."""
    place = tuple(
        part.replace("burials[", "as_buried[", 1) if isinstance(part, str) else part for part in fault.place
    )
    return replace(fault, place=(message("place.as_hidden"), *place))


def _nothing_kept(of: str, name: str, items: Sequence[ItemLine], there: int) -> DayTaken:
    """Return the answer for a run or check of which nothing is kept."""
    return DayTaken(
        of=of,
        name=name,
        id=None,
        created=False,
        waits=None,
        joined=None,
        begun_utc=moment(_began_ms(items) or 0),
        kept=0,
        there=there,
    )


def _began_ms(items: Sequence[ItemLine]) -> int | None:
    """Return when a run began: its alarm, otherwise its earliest item; None without items."""
    run = read_run(items)
    told = [one.wall_ms for one in items if not isinstance(one, SameItem)]
    return run.alarm.at_ms if run.alarm is not None else min(told, default=None)
