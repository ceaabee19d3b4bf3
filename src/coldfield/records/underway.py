"""Commands in progress: noted before they change anything, completed and reported by the next command.

A command that is cut off (the machine stops, the process is killed) leaves the records as they were before
it or as they are after it, never in between. To know which of the two it is:

- a restore notes that it has begun. Once the new file is complete beside the records, it notes that the
  restore is decided; from then on it can only be completed, by the next process that opens the folder;
- an import, a forgetting and a migration are one transaction each. Inside it the records get the mark of
  the note, so the mark shows whether the transaction was committed.
"""

from __future__ import annotations

import json
import logging
import os
import secrets
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from sqlalchemy import Connection

from coldfield.errors import Refused, StoreTrouble
from coldfield.message import Message, message
from coldfield.records.copying import connect, copy_as_it_is, copy_sqlite
from coldfield.records.faults import cannot_write
from coldfield.records.folder import Folder, Lock, no_readers, part_of, reader, sync_file, sync_folder
from coldfield.records.wiping import TO_WIPE
from coldfield.words import say

log = logging.getLogger("coldfield.records")

Work = Literal["restore", "import", "forget", "migration"]

NAME = "underway.json"
NEW = ".coldfield.db.part-restored"
"""The complete restored file, until it replaces the records."""


@dataclass(frozen=True, slots=True)
class Note:
    """One command in progress.

    `about` is the backup or archive that it reads, never a person; `kept` is the copy of the earlier records;
    `mark` is what the records contain once the transaction is committed.
    """

    work: Work
    about: str = ""
    kept: str | None = None
    mark: int = 0
    decided: bool = False


def note(folder: Folder) -> Note | None:
    """Return the note of a command in progress or cut off, or None if there is no readable one."""
    try:
        return Note(**json.loads((folder.path / NAME).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def write_note(folder: Folder, told: Note) -> None:
    """Write a note into the folder; it is on the disk before this returns."""
    path = folder.path / NAME
    part = part_of(path)
    try:
        part.write_text(json.dumps(asdict(told)), encoding="utf-8")
        sync_file(part)
        os.replace(part, path)
        sync_folder(folder.path)
    except OSError as error:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise cannot_write(path, error) from error


def clear_note(folder: Folder) -> None:
    """Remove the note, because the command has ended and reported how."""
    with suppress(OSError):
        (folder.path / NAME).unlink(missing_ok=True)
        sync_folder(folder.path)


@contextmanager
def noted(folder: Folder, work: Work, about: str = "") -> Iterator[int]:
    """Note a transaction while the block lasts; yields the mark that it puts into the records."""
    mark = secrets.randbelow(2**30 - 1) + 1 << 1
    try:
        write_note(folder, Note(work=work, about=about, mark=mark))
        yield mark
    finally:
        clear_note(folder)


def take_mark(connection: Connection, mark: int) -> None:
    """Put the mark of a note into a SQLite file; the bit for rewriting stays as it was."""
    found = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    connection.exec_driver_sql(f"PRAGMA user_version = {mark | (found & TO_WIPE)}")


# --- restoring --------------------------------------------------------------------------------------


def put_in_place(folder: Folder, source: Path, kept: Path | None) -> None:
    """Replace the records with a checked file, after keeping them; the caller removes the note.

    Nobody else may have the records open. If it is cut off before the second note, nothing has changed; after
    that, `settle` continues from wherever this stopped.

    Parameters
    ----------
    folder : Folder
        The folder of the records.
    source : Path
        The file that replaces them.
    kept : Path, optional
        Where the present ones are kept, or None if there are none.

    Raises
    ------
    StoreTrouble
        If a disk is full or a file cannot be read; then nothing has changed.
    """
    told = Note(work="restore", about=str(source), kept=str(kept) if kept else None)
    try:
        write_note(folder, told)
        copy_sqlite(source, folder.path / NEW)
        if kept is not None:
            _keep(folder, kept)
        write_note(folder, Note(**{**asdict(told), "decided": True}))
    except BaseException:
        # The note comes first: without it the new file would be removed as an unfinished part.
        clear_note(folder)
        with suppress(OSError):
            (folder.path / NEW).unlink(missing_ok=True)
        raise
    _exchange(folder)


def _keep(folder: Folder, kept: Path) -> None:
    try:
        copy_sqlite(folder.database, kept)
    except StoreTrouble as error:
        if error.kind in ("full", "read-only"):
            raise
        copy_as_it_is(folder, kept)


def _exchange(folder: Folder) -> None:
    """Replace the old file with the new one; if called again, do what is left."""
    new = folder.path / NEW
    if not new.exists():
        return
    # The log belongs to the old file: it must be gone from the disk before another file replaces that.
    for path in folder.logs():
        path.unlink(missing_ok=True)
    sync_folder(folder.path)
    os.replace(new, folder.database)
    sync_folder(folder.path)


# --- after a command was cut off --------------------------------------------------------------------


def unsettled(folder: Folder) -> bool:
    """Return whether the folder has anything left by a command that was cut off or is in progress."""
    return (folder.path / NAME).exists() or bool(folder.parts())


def settle(folder: Folder, tell: Callable[[Message], object]) -> None:
    """Complete what was cut off and report what was found. Nobody else may use the folder meanwhile."""
    told = note(folder)
    if told is not None:
        tell(_ended(folder, told))
    clear_note(folder)
    for part in folder.parts():
        with suppress(OSError):
            part.unlink()
            # The others belong to the command that has been reported already.
            if part.parent != folder.path and part.name.endswith(".part"):
                tell(message("note.part_removed").at(str(part)))


def end_what_was_cut_off(folder: Folder) -> None:
    """Settle a folder if nobody is reading it; the caller holds the lock of the writing process.

    Raises
    ------
    Refused
        If a restore has to be completed first and somebody is reading.
    """
    if not unsettled(folder):
        return
    with no_readers(folder) as quiet:
        if quiet:
            settle(folder, warn)
        else:
            _refuse_half_restored(folder)


@contextmanager
def beside_others(folder: Folder) -> Iterator[None]:
    """Settle a folder if nobody is working on it, then keep its records in place while they are read.

    Raises
    ------
    Refused
        If they are being restored, or a restore has to be completed first.
    """
    if unsettled(folder):
        # If the lock is held, it is in progress, not cut off; if no lock is possible, nothing is written.
        with suppress(Refused, StoreTrouble):
            lock = Lock(folder.path / "lock", who="a Coldfield that ends what was cut off")
            try:
                end_what_was_cut_off(folder)
            finally:
                lock.release()
    with reader(folder):
        _refuse_half_restored(folder)
        yield


def _refuse_half_restored(folder: Folder) -> None:
    told = note(folder)
    if told is not None and told.decided and (folder.path / NEW).exists():
        raise Refused(message("fault.restore_cut_off"))


def warn(said: Message) -> None:
    """Report in the log what was found of a command that was cut off."""
    log.warning("%s", say(said))


def _ended(folder: Folder, told: Note) -> Message:
    if told.work == "restore":
        if not told.decided:
            return message("note.restore_before", about=told.about)
        _exchange(folder)
        if told.kept:
            return message("note.restore_kept", about=told.about, kept=told.kept)
        return message("note.restore_after", about=told.about)
    done = told.mark == _mark(folder.database)
    if told.work == "import":
        if done:
            return message("note.import_after", about=told.about)
        return message("note.import_before", about=told.about)
    if told.work == "forget":
        return message("note.forget_after") if done else message("note.forget_before")
    return message("note.migration_after") if done else message("note.migration_before")


def _mark(database: Path) -> int:
    """Return the mark in a file; 0 if there is no file or it cannot be read.

    The lowest bit is not part of it; it says whether the file still has to be rewritten.
    """
    with suppress(sqlite3.Error), closing(connect(database)) as link:
        return int(link.execute("PRAGMA user_version").fetchone()[0]) & ~TO_WIPE
    return 0
