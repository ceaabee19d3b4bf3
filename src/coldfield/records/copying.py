"""Copy a SQLite file, in use or not, into another: completely and on the disk, or not at all."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from coldfield.errors import StoreTrouble
from coldfield.message import message
from coldfield.records.faults import cannot_write, damaged, in_words
from coldfield.records.folder import LOG_ENDINGS, Folder, part_of, sync_file, sync_folder

_TARGETS = {
    sqlite3.SQLITE_FULL: message("reason.disk_full"),
    sqlite3.SQLITE_READONLY: message("reason.only_read"),
    sqlite3.SQLITE_CANTOPEN: message("reason.cannot_be_opened"),
    sqlite3.SQLITE_PERM: message("reason.no_right"),
}
"""SQLite's primary codes that concern the file being written, never the one being read."""

_READING = frozenset(
    (sqlite3.SQLITE_IOERR_READ, sqlite3.SQLITE_IOERR_SHORT_READ, sqlite3.SQLITE_IOERR_CORRUPTFS)
)


def copy_sqlite(source: Path, target: Path) -> None:
    """Copy a SQLite file, in use or not, as one consistent state; completely or not at all.

    Raises
    ------
    StoreTrouble
        If the target cannot be written (the message names it) or the source cannot be read; no part of
        the target is left behind.
    """
    part = part_of(target)
    try:
        try:
            _clear(part)
            part.open("xb").close()
        except OSError as error:
            raise cannot_write(target, error) from error
        _copy(source, part, target)
        with in_words():
            whole = read_pragma(part, "integrity_check(1)") == "ok"
        if not whole:
            raise damaged(message("reason.copy_damaged"))
        try:
            sync_file(part)
            os.replace(part, target)
            sync_folder(target.parent)
        except OSError as error:
            raise cannot_write(target, error) from error
    finally:
        with suppress(OSError):
            _clear(part)


def copy_as_it_is(folder: Folder, target: Path) -> None:
    """Copy a folder's records byte for byte with their log: an unreadable file may still be repaired.

    Raises
    ------
    StoreTrouble
        If the target cannot be written.
    """
    beside = [folder.database.with_name(folder.database.name + ending) for ending in ("", *LOG_ENDINGS)]
    try:
        for path in [path for path in beside if path.is_file()]:
            copy = target.with_name(target.name + path.name.removeprefix(folder.database.name))
            part = part_of(copy)
            shutil.copy2(path, part)
            sync_file(part)
            os.replace(part, copy)
        sync_folder(target.parent)
    except OSError as error:
        raise cannot_write(target, error) from error


def read_pragma(path: Path, name: str) -> Any:
    """Return one value of the header of a SQLite file that exists."""
    with closing(connect(path)) as connection:
        return connection.execute(f"PRAGMA {name}").fetchone()[0]


def open_elsewhere(path: Path) -> bool:
    """Return whether another program has a file open, by SQLite's own locks; the log is merged into it."""
    address = f"{path.absolute().as_uri()}?mode=rw"
    try:
        with closing(sqlite3.connect(address, uri=True, timeout=0.5, isolation_level=None)) as link:
            link.execute("PRAGMA locking_mode = EXCLUSIVE")
            link.execute("BEGIN EXCLUSIVE")
            link.execute("ROLLBACK")
    except sqlite3.Error as error:
        return getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY
    return False


def _copy(source: Path, part: Path, target: Path) -> None:
    with in_words():
        with_source = connect(source)
    with closing(with_source):
        with in_words():
            with_source.execute("SELECT 1 FROM sqlite_master").fetchone()
        try:
            with closing(sqlite3.connect(part)) as with_target:
                with_source.backup(with_target)
                # A copy is a single file without a write-ahead log.
                with_target.execute("PRAGMA journal_mode = DELETE")
        except sqlite3.Error as error:
            raise _of_target(error, target) or _of_source(error) from error


def _of_target(error: sqlite3.Error, target: Path) -> StoreTrouble | None:
    code = getattr(error, "sqlite_errorcode", 0)
    primary = code & 0xFF
    if primary == sqlite3.SQLITE_IOERR and code not in _READING:
        return cannot_write(target, message("reason.disk_refuses"))
    if primary in _TARGETS:
        return cannot_write(target, _TARGETS[primary], full=primary == sqlite3.SQLITE_FULL)
    return None


def _of_source(error: sqlite3.Error) -> BaseException:
    try:
        with in_words():
            raise error
    except (StoreTrouble, sqlite3.Error) as told:
        return told


def connect(path: Path) -> sqlite3.Connection:
    """Open an existing SQLite file for reading.

    If possible it is opened for writing too: what a killed process left is then undone or merged first, and
    the last one to close the file leaves a single file. A read-only file is only read.
    """
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True)


def _clear(part: Path) -> None:
    for left in (part, *(part.with_name(part.name + ending) for ending in LOG_ENDINGS)):
        left.unlink(missing_ok=True)
