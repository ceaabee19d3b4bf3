"""What a command is in the middle of: noted before it changes anything, settled and told by the next one.

A command that is cut off (the machine stops, the process is killed) leaves the records as they were before
it or as they are after it, never in between. Which of the two it is stands in nobody's memory, so:

- a restore notes that it has begun; once the new file lies complete beside the records it notes that it is
  decided, and from then on it only goes forward: whoever opens the folder next ends it;
- an import, a forgetting and a migration are one transaction each; inside it the records take the mark of
  the note, so that the mark tells whether the transaction was kept.
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
"""The restored file, complete, until it takes the place of the records."""


@dataclass(frozen=True, slots=True)
class Note:
    """One command under way.

    `about` is the backup or archive it reads, never a person; `kept` the copy of what was there before;
    `mark` what the records carry once the transaction is kept.
    """

    work: Work
    about: str = ""
    kept: str | None = None
    mark: int = 0
    decided: bool = False


def note(folder: Folder) -> Note | None:
    """Return the note of a command under way or cut off, None where there is none that can be read."""
    try:
        return Note(**json.loads((folder.path / NAME).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def write_note(folder: Folder, told: Note) -> None:
    """Put a note in the folder, on the disk before this returns."""
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
    """Take the note away: the command has ended and told how."""
    with suppress(OSError):
        (folder.path / NAME).unlink(missing_ok=True)
        sync_folder(folder.path)


@contextmanager
def noted(folder: Folder, work: Work, about: str = "") -> Iterator[int]:
    """Note a transaction for as long as the block lasts; gives the mark that it puts into the records."""
    mark = secrets.randbelow(2**30 - 1) + 1 << 1
    try:
        write_note(folder, Note(work=work, about=about, mark=mark))
        yield mark
    finally:
        clear_note(folder)


def take_mark(connection: Connection, mark: int) -> None:
    """Put the mark of a note into a SQLite file; whether it has yet to be written anew stays as it was."""
    found = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    connection.exec_driver_sql(f"PRAGMA user_version = {mark | (found & TO_WIPE)}")


# --- restoring --------------------------------------------------------------------------------------


def put_in_place(folder: Folder, source: Path, kept: Path | None) -> None:
    """Put a checked file in the place of the records, which are kept first; leaves the note for its caller.

    Nobody else may have the records open. Cut off before the second note nothing has changed; after it
    `settle` goes on from wherever this stopped.

    Parameters
    ----------
    folder : Folder
        Whose records.
    source : Path
        The file that takes their place.
    kept : Path, optional
        Where the present ones are kept, None where there are none.

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
        # The note first: without it the new file is a part that is swept.
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
    """Let the new file take the old one's place; does what is left of it when it is called again."""
    new = folder.path / NEW
    if not new.exists():
        return
    # The log belongs to the old file: it is gone, on the disk too, before another stands in its place.
    for path in folder.logs():
        path.unlink(missing_ok=True)
    sync_folder(folder.path)
    os.replace(new, folder.database)
    sync_folder(folder.path)


# --- after a command was cut off --------------------------------------------------------------------


def unsettled(folder: Folder) -> bool:
    """Return whether something of a command that was cut off, or is under way, lies in the folder."""
    return (folder.path / NAME).exists() or bool(folder.parts())


def settle(folder: Folder, tell: Callable[[Message], object]) -> None:
    """Bring to an end what was cut off and say what was found. Nobody else may use the folder meanwhile."""
    told = note(folder)
    if told is not None:
        tell(_ended(folder, told))
    clear_note(folder)
    for part in folder.parts():
        with suppress(OSError):
            part.unlink()
            # The others belong to the command that was told of already.
            if part.parent != folder.path and part.name.endswith(".part"):
                tell(message("note.part_removed").at(str(part)))


def end_what_was_cut_off(folder: Folder) -> None:
    """Settle a folder where nobody reads it; the caller holds the lock of the one writing process.

    Raises
    ------
    Refused
        If a restore has to be ended first and somebody reads.
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
    """Settle a folder where nobody works on it, then hold its records in their place while they are read.

    Raises
    ------
    Refused
        If they are just being restored, or a restore has to be ended first.
    """
    if unsettled(folder):
        # Where the lock is held it is under way, not cut off; where there may be no lock, nothing is written.
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
    """Write in the log what was found of a command that was cut off."""
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
    """Return the mark that a file carries; 0 without a file or where it cannot be read.

    The lowest bit is no part of it: it tells whether the file has yet to be written anew.
    """
    with suppress(sqlite3.Error), closing(connect(database)) as link:
        return int(link.execute("PRAGMA user_version").fetchone()[0]) & ~TO_WIPE
    return 0
