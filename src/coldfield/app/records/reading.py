"""Read and change records for a page, a command or another program."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from coldfield.errors import BadInput, Refused
from coldfield.files.csv_text import csv_text
from coldfield.message import message, size
from coldfield.records.as_table import as_table
from coldfield.records.checking import checked, read_form
from coldfield.records.database import Database
from coldfield.records.forms import Form
from coldfield.records.history import HistoryEntry, person_history
from coldfield.records.kind import Kind
from coldfield.records.kinds import kind_of
from coldfield.records.run_list import RunAtAGlance, runs_at_a_glance
from coldfield.records.store import Deletion, Put, Record, Store


@dataclass(frozen=True, slots=True, kw_only=True)
class RunsAtAGlance:
    """One page of runs; pass `next` as `after` to get the following one."""

    items: tuple[RunAtAGlance, ...]
    next: str | None


def save(database: Database, kind_name: str, record_id: str, form: Form, *, based_on: int | None) -> Put:
    """Create or change one record; see `Store.put`.

    Raises
    ------
    BadInput
        If a drill cannot be used, or a reference points to a missing record.
    Conflict
        If the stored record is not the version the change was based on.
    Refused
        If the kind cannot be edited by hand, or the record is deleted.
    """
    kind = kind_of(kind_name)
    if not kind.by_hand:
        raise Refused(message("fault.not_by_hand", kinds=kind.many))
    fields = checked(kind_name, form)
    with database.write() as connection:
        store = Store(connection, database.stamp())
        if kind.file is not None:
            _refuse_another_file(kind, store.get(kind_name, record_id), fields)
        return store.put(kind_name, record_id, fields, based_on=based_on)


def _refuse_another_file(kind: Kind, stored: Record, fields: Mapping[str, Any]) -> None:
    faults = [
        message("fault.another_file", value=str(stored[key])).at(key)
        for key in ("size_bytes", "sha256")
        if fields[key] != stored[key]
    ]
    if faults:
        raise BadInput(faults)


def keep_with_file(
    database: Database, kind_name: str, record_id: str, content: bytes, told: Mapping[str, Any]
) -> Put:
    """Keep a file unchanged, with its record; a repeat changes nothing.

    Parameters
    ----------
    database : Database
        The records.
    kind_name, record_id : str
        The kind, and an id made by the caller.
    content : bytes
        The file.
    told : mapping
        The fields of the form, except `size_bytes` and `sha256`.

    Raises
    ------
    BadInput
        If the file is empty or too large, or a field or reference cannot be used.
    Conflict
        If another record has this id.
    """
    kind = kind_of(kind_name)
    refuse_size(kind, content)
    fields = checked(kind_name, read_form(kind_name, {**told, **of_file(content)}))
    with database.write() as connection:
        store = Store(connection, database.stamp())
        put = store.put(kind_name, record_id, fields, based_on=None)
        store.keep_file(kind_name, record_id, content)
        return put


def of_file(content: bytes) -> dict[str, Any]:
    """Return the fields of a record that follow from the bytes of its file."""
    return {"size_bytes": len(content), "sha256": sha256(content).hexdigest()}


def refuse_size(kind: Kind, content: bytes) -> None:
    """Raise `BadInput` for a file that is empty or larger than its kind accepts."""
    if not content:
        raise BadInput(message("fault.empty_file"))
    if kind.file is not None and len(content) > kind.file.most_bytes:
        raise BadInput(message("fault.file_too_large", size=size(kind.file.most_bytes)))


def table_csv(
    database: Database, kind_name: str, *, where: Mapping[str, str] | None = None, find: str | None = None
) -> str:
    """Return the records of a kind as CSV; see `as_table`."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        return csv_text(as_table(store, kind_of(kind_name), where=where, find=find))


def find(database: Database, kind_name: str, record_id: str) -> Record:
    """Return a record, or raise `UnknownRecord`."""
    with database.read() as connection:
        return Store(connection, database.stamp()).get(kind_name, record_id)


def page(
    database: Database,
    kind_name: str,
    *,
    where: Mapping[str, str] | None = None,
    find: str | None = None,
    after: str | None = None,
    limit: int = 100,
) -> list[Record]:
    """Return one page of records; see `Store.page`."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        return store.page(kind_name, where=where, find=find, after=after, limit=limit)


def glance(
    database: Database, *, words: str = "", after: str | None = None, limit: int = 50
) -> RunsAtAGlance:
    """Return one page of runs with drill, day, people and debrief; see `runs_at_a_glance`."""
    with database.read() as connection:
        runs = runs_at_a_glance(connection, words=words, after=after, limit=limit)
    return RunsAtAGlance(items=runs, next=runs[-1].id if len(runs) == limit else None)


def remove(database: Database, kind_name: str, record_id: str, *, based_on: int | None = None) -> str:
    """Delete a record with what belongs to it; return the deletion's id, for `undo`."""
    with database.write() as connection:
        return Store(connection, database.stamp()).delete(kind_name, record_id, based_on=based_on)


def undo(database: Database, deletion_id: str) -> Record:
    """Restore what a deletion removed; return the record that was deleted."""
    with database.write() as connection:
        return Store(connection, database.stamp()).undo(deletion_id)


def deletions(database: Database, limit: int = 100) -> list[Deletion]:
    """Return the latest deletions, newest first."""
    with database.read() as connection:
        return Store(connection, database.stamp()).deletions(limit)


def drill_version(database: Database, drill_id: str, number: int) -> dict[str, Any]:
    """Return the drill file of one version."""
    with database.read() as connection:
        return Store(connection, database.stamp()).drill_version(drill_id, number)


def history(
    database: Database, person_id: str, *, before: str | None = None, limit: int = 50
) -> list[HistoryEntry]:
    """Return the runs in which a person searched, newest first, with their split times."""
    with database.read() as connection:
        return person_history(connection, person_id, before=before, limit=limit)


def add_splits(database: Database, run_id: str, splits: Sequence[tuple[str, Form]]) -> list[Record]:
    """Write several splits of a run, all or none; each id counts once.

    Raises
    ------
    BadInput
        If there is no such run.
    Conflict
        If another split has one of the ids.
    """
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.get("runs", run_id)
        return [
            store.put("splits", split_id, form.fields() | {"run_id": run_id}, based_on=None).record
            for split_id, form in splits
        ]


def keep_track(database: Database, track_id: str, content: bytes, told: Mapping[str, Any]) -> Put:
    """Keep a track's file unchanged, with its fields `run_id`, `searcher`, `person_id` and `file_name`.

    If the run says which person its searcher is, the track gets that person.

    Raises
    ------
    BadInput
        If the file is empty or too large, or a reference points to a missing record.
    Conflict
        If another track has this id.
    """
    refuse_size(kind_of("tracks"), content)
    from coldfield.app.debriefs.track_measures import (  # needed only here
        LOOK_S,
        measures_of_run,
    )

    known = {"matched": "told"} if told.get("searcher") is not None else {}
    form = read_form("tracks", {**told, **known, **of_file(content)})
    with database.write() as connection:
        store = Store(connection, database.stamp())
        fields = form.fields()
        run = store.get("runs", fields["run_id"])
        if fields["person_id"] is None and fields["searcher"] is not None:
            people = {one["searcher"]: one["person_id"] for one in run["searchers"]}
            fields["person_id"] = people.get(fields["searcher"])
        put = store.put("tracks", track_id, fields, based_on=None)
        store.keep_file("tracks", track_id, content)
    measures_of_run(database, fields["run_id"], for_s=LOOK_S)
    return put


def kept_file(database: Database, kind_name: str, record_id: str) -> tuple[str, bytes]:
    """Return the original file of a record, and its name: the record's id with the extension."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        record = store.get(kind_name, record_id)
        return kind_of(kind_name).file_name(record), store.file(kind_name, record_id)
