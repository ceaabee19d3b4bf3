"""Errors of a database in words, with the remedy."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, IntegrityError, OperationalError

from coldfield.errors import Refused, StoreTrouble
from coldfield.message import Message, message, verbatim

_RESTORE = message("fault.store_way_back")

_SAID: dict[int, tuple[str, Message]] = {
    sqlite3.SQLITE_FULL: ("full", message("fault.store_disk_full")),
    sqlite3.SQLITE_BUSY: ("locked", message("fault.store_locked_by_another")),
    sqlite3.SQLITE_LOCKED: ("locked", message("fault.store_locked")),
    sqlite3.SQLITE_INTERRUPT: ("locked", message("fault.store_ending")),
    sqlite3.SQLITE_READONLY: ("read-only", message("fault.store_read_only")),
    sqlite3.SQLITE_CANTOPEN: ("unreachable", message("fault.store_cannot_be_opened")),
    sqlite3.SQLITE_IOERR: ("unreachable", message("fault.store_disk_fails", way=_RESTORE)),
    sqlite3.SQLITE_CORRUPT: ("damaged", message("fault.store_damaged", way=_RESTORE)),
    sqlite3.SQLITE_NOTADB: ("damaged", message("fault.store_no_database", way=_RESTORE)),
}


_NO_ROOM_BESIDE = frozenset(
    (sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_SHMOPEN, sqlite3.SQLITE_IOERR_SHMMAP)
)
"""What SQLite reports if its files beside the records find no room, although it could read the file."""


def damaged(detail: Message) -> StoreTrouble:
    """Return the error for a file that fails its integrity check, with the first finding."""
    return StoreTrouble(message("fault.store_damaged_by", why=detail, way=_RESTORE), kind="damaged")


def _trouble(code: int) -> StoreTrouble:
    kind, said = _SAID[code]
    return StoreTrouble(said, kind=kind)


def ending() -> StoreTrouble:
    """Return the error for a request that arrives, or is cut off, while the service shuts down."""
    return _trouble(sqlite3.SQLITE_INTERRUPT)


_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def cannot_write(path: Path, error: OSError | Message, *, full: bool = False) -> StoreTrouble:
    """Return the error for a file that cannot be written.

    Parameters
    ----------
    path : Path
        The file, as the person named it.
    error : OSError or Message
        The system's error, or a reason.
    full : bool
        Whether the disk is full, if the error itself does not say so.
    """
    reason = error if isinstance(error, Message) else of_system(error)
    if full or (isinstance(error, OSError) and error.errno in _NO_ROOM):
        return StoreTrouble(message("fault.store_no_room", path=str(path), why=reason), kind="full")
    return StoreTrouble(message("fault.store_cannot_write", path=str(path), why=reason), kind="read-only")


def of_system(error: OSError) -> Message:
    """Return an error in the words of the operating system."""
    return verbatim(error.strerror or type(error).__name__)


def no_folder(path: Path, error: OSError) -> StoreTrouble:
    """Return the error for a folder inside the records' folder that cannot be created."""
    if isinstance(error, FileExistsError):
        return StoreTrouble(message("fault.store_file_for_folder", path=str(path)), kind="unreachable")
    said = message("fault.store_no_folder_inside", path=str(path), why=of_system(error))
    return StoreTrouble(said, kind="read-only")


def busy() -> StoreTrouble:
    """Return the error for a write whose turn did not come in time."""
    return StoreTrouble(message("fault.store_busy"), kind="busy")


def trouble(error: BaseException) -> StoreTrouble | None:
    """Return the error in words for a database error, or None if there is none."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    if isinstance(cause, sqlite3.Error):
        # The low byte is the primary code; the rest is its variant.
        code = getattr(cause, "sqlite_errorcode", 0)
        code = sqlite3.SQLITE_FULL if code in _NO_ROOM_BESIDE else code & 0xFF
        return _trouble(code) if code in _SAID else None
    if isinstance(error, DBAPIError):
        return _server_trouble(str(getattr(cause, "sqlstate", None) or ""), error)
    return None


def _server_trouble(state: str, error: DBAPIError) -> StoreTrouble | None:
    if state == "53100":
        return _trouble(sqlite3.SQLITE_FULL)
    if state == "25006":
        return StoreTrouble(message("fault.store_server_read_only"), kind="read-only")
    if state == "55P03":
        return _trouble(sqlite3.SQLITE_LOCKED)
    lost = state.startswith(("08", "57P")) or (not state and isinstance(error, OperationalError))
    if lost or error.connection_invalidated:
        return StoreTrouble(message("fault.store_server_silent"), kind="unreachable")
    return None


@contextmanager
def in_words() -> Iterator[None]:
    """Turn database errors inside the block into `StoreTrouble`, broken uniqueness into `Refused`."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        known = trouble(error)
        if known is not None:
            raise known from error
        if isinstance(error, IntegrityError):
            raise Refused(message("fault.twice_or_nowhere")) from error
        raise
