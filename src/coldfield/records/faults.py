"""What a database says when it cannot go on, in words with the way back."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, IntegrityError, OperationalError

from coldfield.errors import Refused, StoreTrouble

_RESTORE = (
    "to go back, restore the newest backup (coldfield restore FILE); the damaged file is kept beside it"
)

_WORDS: dict[int, tuple[str, str]] = {
    sqlite3.SQLITE_FULL: (
        "full",
        "the disk is full: nothing of this change was kept, all earlier records are whole; "
        "free some space and do it again",
    ),
    sqlite3.SQLITE_BUSY: (
        "locked",
        "another program holds the records file locked: nothing of this change was kept; "
        "close that program and do it again",
    ),
    sqlite3.SQLITE_LOCKED: (
        "locked",
        "the records file is locked: nothing of this change was kept; do it again",
    ),
    sqlite3.SQLITE_INTERRUPT: (
        "locked",
        "the service is ending: nothing of this change was kept; start it again, then do it again",
    ),
    sqlite3.SQLITE_READONLY: (
        "read-only",
        "the records file may only be read: nothing was changed; give yourself the right to write "
        "the file and its folder, or choose a folder of your own with --data",
    ),
    sqlite3.SQLITE_CANTOPEN: (
        "unreachable",
        "the records file cannot be opened: check that its folder exists and that you may write in "
        "it, or choose another with --data",
    ),
    sqlite3.SQLITE_IOERR: (
        "unreachable",
        "the disk does not read or write the records file: nothing of this change was kept; check "
        f"the disk and its free space; if it stays, {_RESTORE}",
    ),
    sqlite3.SQLITE_CORRUPT: ("damaged", f"the records file is damaged; {_RESTORE}"),
    sqlite3.SQLITE_NOTADB: (
        "damaged",
        f"the records file is not a database, or its start is damaged; {_RESTORE}",
    ),
}


_NO_ROOM_BESIDE = frozenset(
    (sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_SHMOPEN, sqlite3.SQLITE_IOERR_SHMMAP)
)
"""What SQLite says where its files beside the records find no room: of a file that it could read."""


def damaged(detail: str) -> StoreTrouble:
    """Return the trouble of a file that fails its integrity check, with the first thing found."""
    return StoreTrouble(f"the records file is damaged ({detail}); {_RESTORE}", kind="damaged")


def _trouble(code: int) -> StoreTrouble:
    kind, words = _WORDS[code]
    return StoreTrouble(words, kind=kind)


def ending() -> StoreTrouble:
    """Return the trouble of a request that comes, or is cut off, while the service ends."""
    return _trouble(sqlite3.SQLITE_INTERRUPT)


_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def cannot_write(path: Path, error: OSError | str, *, full: bool = False) -> StoreTrouble:
    """Return the trouble of a file that cannot be written.

    Parameters
    ----------
    path : Path
        The file as the person named it.
    error : OSError or str
        What the system says, or a reason in words.
    full : bool
        The disk has no room, where the error does not tell it itself.
    """
    reason = error if isinstance(error, str) else error.strerror or type(error).__name__
    if full or (isinstance(error, OSError) and error.errno in _NO_ROOM):
        return StoreTrouble(
            f"{path} cannot be written ({reason}): free some space or choose another place", kind="full"
        )
    return StoreTrouble(
        f"{path} cannot be written ({reason}): choose another place, or give yourself the right to write it",
        kind="read-only",
    )


def no_folder(path: Path, error: OSError) -> StoreTrouble:
    """Return the trouble of a folder inside the records' own that cannot be made."""
    if isinstance(error, FileExistsError):
        return StoreTrouble(
            f"{path} is a file where a folder is needed: move it away, then do this again", kind="unreachable"
        )
    return StoreTrouble(
        f"the folder {path} cannot be made ({error.strerror}): give yourself the right to write in the "
        "folder above it, or free some space",
        kind="read-only",
    )


def busy() -> StoreTrouble:
    """Return the trouble of a write whose turn did not come in time."""
    return StoreTrouble(
        "the records are busy with another change: nothing of this one was kept; try again in a moment",
        kind="busy",
    )


def trouble(error: BaseException) -> StoreTrouble | None:
    """Return the trouble that a database error stands for, or None where it stands for none."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    if isinstance(cause, sqlite3.Error):
        # The low byte is the primary code; the rest tells its variant.
        code = getattr(cause, "sqlite_errorcode", 0)
        code = sqlite3.SQLITE_FULL if code in _NO_ROOM_BESIDE else code & 0xFF
        kind, words = _WORDS.get(code, ("", ""))
        return StoreTrouble(words, kind=kind) if kind else None
    if isinstance(error, DBAPIError):
        return _server_trouble(str(getattr(cause, "sqlstate", None) or ""), error)
    return None


def _server_trouble(state: str, error: DBAPIError) -> StoreTrouble | None:
    if state == "53100":
        return StoreTrouble(_WORDS[sqlite3.SQLITE_FULL][1], kind="full")
    if state == "25006":
        return StoreTrouble(
            "the database only allows reading: nothing was changed; connect to the writable server",
            kind="read-only",
        )
    if state == "55P03":
        return StoreTrouble(_WORDS[sqlite3.SQLITE_LOCKED][1], kind="locked")
    lost = state.startswith(("08", "57P")) or (not state and isinstance(error, OperationalError))
    if lost or error.connection_invalidated:
        return StoreTrouble(
            "the database server does not answer: nothing of this change was kept unless it was "
            "acknowledged; check --database and the server",
            kind="unreachable",
        )
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
            raise Refused(
                "this would stand twice, or stands on a record that is not there: nothing was changed"
            ) from error
        raise
