"""Use cases that keep records safe: backup, restore, export, import, forget."""

from __future__ import annotations

import logging
import os
import sqlite3
from collections.abc import Callable
from contextlib import ExitStack, closing, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any

import coldfield
from coldfield.app.answers import said
from coldfield.app.jobs.stages import Progress, Stages, not_told
from coldfield.app.records.data import Data, locked, there
from coldfield.errors import BadInput, Refused, UnknownRecord
from coldfield.files.records_zip import ArchiveReader, ArchiveWriter
from coldfield.message import Message, message
from coldfield.records import schema
from coldfield.records.archive import write_archive
from coldfield.records.archive_in import BroughtIn, bring_in, read_archive
from coldfield.records.copying import connect, copy_sqlite, open_elsewhere, read_pragma
from coldfield.records.database import Database, open_sqlite, utc_now
from coldfield.records.faults import cannot_write, of_system
from coldfield.records.folder import Folder, free_path, no_readers, part_of, sync_folder
from coldfield.records.forget import (
    SERVERS_OWN,
    STILL_READ,
    Plan,
    carry_out,
    holds_person,
    look_through,
    others_in,
)
from coldfield.records.forget.late import MEANWHILE
from coldfield.records.forget.plan import Counted
from coldfield.records.kinds import PEOPLE
from coldfield.records.migrate import known, try_out
from coldfield.records.moments import stamp
from coldfield.records.presence import refuse_missing
from coldfield.records.store import Store
from coldfield.records.underway import beside_others, clear_note, put_in_place, settle, warn

log = logging.getLogger("coldfield.records")

# --- backup and restore -----------------------------------------------------------------------------


def backup(data: Data, out: Path | None = None, *, now: datetime | None = None) -> Path:
    """Copy the records of a folder into one checked file, even if they are in use; return its path.

    Raises
    ------
    UnknownRecord
        If there are no records.
    Refused
        If the records are on a server, or the file exists.
    StoreTrouble
        If the file cannot be written or the records are damaged; no partial file is left.
    """
    if data.url is not None:
        raise Refused(message("fault.server_backup"))
    folder = data.folder
    if not there(folder):
        raise UnknownRecord(message("fault.no_records", path=str(folder.path)))
    with beside_others(folder):
        refuse_missing(folder)
        target = out or folder.backup_path(now or utc_now())
        if os.path.lexists(target):
            raise Refused(message("fault.file_exists", path=str(target)))
        if not target.parent.is_dir():
            raise BadInput(message("fault.no_such_folder"), str(target.parent))
        copy_sqlite(folder.database, target)
    return target


def restore(
    data: Data,
    source: Path,
    *,
    now: datetime | None = None,
    told: Callable[[Path | None], object] = lambda _kept: None,
) -> Path | None:
    """Replace a folder's records with a backup; return where the old ones are kept, None if there were none.

    If it is interrupted at any moment, either the old or the new records remain, and the next process to open
    them finds out which.

    Parameters
    ----------
    data : Data
        Which records.
    source : Path
        The backup.
    now : datetime, optional
        The moment used in the name of the kept copy.
    told : callable
        Called last, with the place where the old records are kept.

    Raises
    ------
    BadInput
        If the file is not a complete backup.
    Refused
        If the records are in use or on a server.
    StoreTrouble
        If the backup was made by a newer Coldfield, or the disk is full; the records stay as they are.
    """
    if data.url is not None:
        raise Refused(message("fault.server_restore"))
    _check_backup(source)
    folder = data.folder
    with locked(folder, who="coldfield restore"), no_readers(folder) as quiet:
        if not quiet:
            raise Refused(message("fault.read_elsewhere"))
        settle(folder, warn)
        if folder.database.is_file() and open_elsewhere(folder.database):
            raise Refused(message("fault.open_elsewhere"))
        present = any(path.exists() for path in (folder.database, *folder.logs()))
        kept = folder.kept_copy("restore", now or utc_now()) if present else None
        put_in_place(folder, source, kept)
        open_sqlite(folder, alone=True).close()
        told(kept)
        clear_note(folder)
    return kept


def _check_backup(source: Path) -> None:
    if not source.is_file():
        raise BadInput(message("fault.no_such_file"), str(source))
    try:
        ours = read_pragma(source, "application_id") == schema.APPLICATION_ID
        whole = read_pragma(source, "integrity_check(1)") == "ok"
    except sqlite3.Error:
        ours = whole = False
    if not ours:
        raise BadInput(message("fault.no_backup"), str(source))
    if not whole:
        raise BadInput(message("fault.damaged_backup"), str(source))
    with closing(connect(source)) as connection:
        try:
            rows = connection.execute("SELECT version_num FROM alembic_version").fetchall()
            listed = connection.execute(
                "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite%' "
                "ORDER BY type = 'index'"
            )
            tables = [row[0] for row in listed]
        except sqlite3.Error:
            rows, tables = [], []
    what = message("term.records_in", path=str(source))
    try_out(tables, known([row[0] for row in rows], what), what)


# --- export and import ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """The zip that was written, and how many records of each kind are in it."""

    file: str
    counts: dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """How many records of each kind were read."""

    counts: dict[str, int]


def export_records(database: Database, out: Path, *, drill_id: str | None = None) -> dict[str, int]:
    """Write everything, or one drill with its runs, into one open zip, completely or not at all.

    Returns
    -------
    dict
        How many records of each kind.

    Raises
    ------
    UnknownRecord
        If there is no such drill, or it is deleted.
    Refused
        If the file exists.
    StoreTrouble
        If the disk is full.
    """
    if os.path.lexists(out):
        raise Refused(message("fault.file_exists", path=str(out)))
    part = free_path(part_of(out))
    told = {"made_by": f"coldfield {coldfield.__version__}", "made_utc": stamp(database.now())}
    try:
        with part.open("wb") as file, database.read() as connection, ExitStack() as stack:
            writer = ArchiveWriter(file)
            stack.callback(writer.give_up)
            if drill_id is not None:
                Store(connection, database.stamp()).get("drills", drill_id)
            counts = write_archive(connection, writer, told, drill_id=drill_id)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, out)
        sync_folder(out.parent)
    except OSError as error:
        raise cannot_write(out, error) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
    return counts


def import_records(database: Database, source: Path) -> dict[str, int]:
    """Read an exported zip into empty records, all or nothing; return how many of each kind.

    Raises
    ------
    BadInput
        If the file is not a complete archive.
    Refused
        If there are records already.
    """
    try:
        with source.open("rb") as file, database.change("import", str(source)) as connection:
            return read_archive(connection, ArchiveReader(file, str(source)))
    except OSError as error:
        raise BadInput(message("fault.cannot_be_read", why=of_system(error)), str(source)) from None


def bring_records(
    database: Database,
    file: IO[bytes],
    source: str,
    *,
    rehearse: bool = False,
    forgotten: int | None = None,
    progress: Progress = not_told,
) -> BroughtIn:
    """Add an exported zip to the records here, all or nothing; existing records do not change.

    Parameters
    ----------
    database : Database
        The records.
    file : binary file
        The zip, seekable.
    source : str
        Its name, for faults.
    rehearse : bool
        Change nothing; only return what would be added.
    forgotten : int, optional
        The number of forgotten people when the upload began.
    progress : callable
        Called with the amount read. If it raises, everything is undone.

    Raises
    ------
    BadInput
        If the file is not a complete archive, or does not fit the records here.
    Refused
        If somebody was forgotten in the meantime.
    """
    with database.read() if rehearse else database.change("import", source) as connection:
        if forgotten is not None and forgotten != len(database.forgotten):
            raise Refused(MEANWHILE)
        reading = Stages(progress, {"reading": 100}).at("reading")
        return bring_in(connection, ArchiveReader(file, source, reading), keep=not rehearse)


# --- forget -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class FarewellTold:
    """The result of forgetting a person: counts by kind, what to check, and where else the person may be.

    Copies are the files beside the records, all of them searched. `left_elsewhere` describes what may still
    mention the person, such as a server's own log.
    """

    removed: tuple[Counted, ...]
    made_anonymous: tuple[Counted, ...]
    to_look_at: tuple[Message, ...]
    copies_that_still_hold_the_person: tuple[str, ...]
    copies_without_the_person: tuple[str, ...]
    copies_that_cannot_be_searched: tuple[str, ...]
    left_elsewhere: tuple[Message, ...]

    def document(self) -> dict[str, Any]:
        """Return the result in the current language, with counts by their names, as a command prints it."""
        told = said(self)
        for key in ("removed", "made_anonymous"):
            told[key] = {one["what"]: one["n"] for one in told[key]}
        return dict(told)


def who_is(database: Database, who: str) -> str:
    """Return the id of the one person whose id or name is `who`, deleted ones included.

    Raises
    ------
    UnknownRecord
        If there is nobody, or several share the name.
    """
    person = schema.person
    with database.read() as connection:
        rows = connection.execute(person.select().order_by(person.c.id)).mappings().all()
    ids = [row["id"] for row in rows if row["id"] == who] or [
        row["id"] for row in rows if row["name"].casefold() == who.casefold()
    ]
    if not ids:
        raise UnknownRecord(message("fault.no_record", kind=PEOPLE.one, id=who))
    if len(ids) > 1:
        raise UnknownRecord(message("fault.several_people", n=len(ids), name=who, ids=tuple(ids)))
    return str(ids[0])


def forget(
    database: Database,
    person_id: str,
    *,
    folder: Folder | None = None,
    rehearse: bool = False,
    also: Callable[[Callable[[str], bool]], object] = lambda _speaks: None,
) -> FarewellTold:
    """Forget a person everywhere and return what was done; with `rehearse` only return it.

    Parameters
    ----------
    database : Database
        The records.
    person_id : str
        The person.
    folder : Folder, optional
        Where to look for backups that still contain the person.
    rehearse : bool
        Change nothing.
    also : callable
        Forgets what is only in memory; called with a function that returns whether a text mentions the
        person.
    """
    left: list[Message] = []
    if rehearse:
        with database.read() as connection:
            plan = look_through(connection, person_id)
    else:
        with database.change("forget") as connection:
            plan = look_through(connection, person_id)
            carry_out(connection, plan, database.stamp())
            database.forgotten.append(plan.wanted)
        left += [] if database.wipe(plan.tables()) else [STILL_READ]
    left += [] if database.is_sqlite else [SERVERS_OWN]
    told = _farewell(plan, folder, left)
    if not rehearse:
        also(plan.wanted.named_outright)
    return told


def _farewell(plan: Plan, folder: Folder | None, left: list[Message]) -> FarewellTold:
    """Return what was done, and the result of searching every copy beside the records."""
    found: dict[bool | None, list[str]] = {True: [], False: [], None: []}
    for path in others_in(folder) if folder is not None else ():
        found[holds_person(path, plan.wanted, plan.person_id)].append(str(path))
    return FarewellTold(
        removed=tuple(plan.done.removed),
        made_anonymous=tuple(plan.done.made_anonymous),
        to_look_at=tuple(plan.done.to_look_at),
        copies_that_still_hold_the_person=tuple(found[True]),
        copies_without_the_person=tuple(found[False]),
        copies_that_cannot_be_searched=tuple(found[None]),
        left_elsewhere=tuple(left),
    )
