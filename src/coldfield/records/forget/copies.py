"""Find backups, kept copies and left-over parts that still contain a person; each is searched."""

from __future__ import annotations

import mmap
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from coldfield.records.folder import Folder
from coldfield.records.forget.contents import mentions, raw_pattern
from coldfield.records.forget.names import Wanted

_LIVE = ("coldfield.db", "coldfield.db-wal", "coldfield.db-shm", "lock")
_OURS = ("*coldfield*", "*.part", "*.part-*", "*.new", "*.new-*")
"""Names of copies and parts beside the records; the folder may contain other files too."""


def others_in(folder: Folder) -> list[Path]:
    """Return the files of a folder of records that are not in use: backups, kept copies, left-over parts."""
    found = {path for pattern in _OURS for path in folder.path.glob(pattern)}
    for kept in (folder.backups, folder.kept):
        found |= set(kept.rglob("*"))
    live = {folder.path / name for name in _LIVE}
    return sorted(path for path in found - live if path.is_file())


def holds_person(path: Path, wanted: Wanted, person_id: str) -> bool | None:
    """Return whether a file contains a person's entry or certainly names them; None if unreadable.

    A file of records is read table by table, whatever its schema. Of any other file, and of what a damaged
    one holds outside its tables, the bytes are searched.
    """
    try:
        if path.stat().st_size == 0:
            return False
        if _raw(path, wanted):
            return True
        with path.open("rb") as file:
            start = file.read(16)
        if start.startswith(b"SQLite format 3"):
            return _in_tables(path, wanted, person_id)
        return any(one.sure for one in mentions(path.read_bytes(), wanted))
    except (OSError, sqlite3.Error, MemoryError):
        return None


def _raw(path: Path, wanted: Wanted) -> bool:
    pattern = raw_pattern(wanted)
    if pattern is None or wanted.shared:
        return False
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as content:
        return bool(pattern.search(content))


def _in_tables(path: Path, wanted: Wanted, person_id: str) -> bool:
    with closing(_opened(path)) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
            if name == "person":
                mine = connection.execute("SELECT 1 FROM person WHERE id = ?", (person_id,)).fetchone()
                if mine is not None:
                    return True
            if not wanted.shared and any(_speaks(value, wanted) for value in _values(connection, name)):
                return True
    return False


def _opened(path: Path) -> sqlite3.Connection:
    # A copy without a log is read unchanged, so that no other file is created.
    still = "" if path.with_name(path.name + "-wal").exists() else "&immutable=1"
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro{still}", uri=True)


def _values(connection: sqlite3.Connection, table: str) -> Iterator[Any]:
    for row in connection.execute(f'SELECT * FROM "{table}"'):
        yield from row


def _speaks(value: Any, wanted: Wanted) -> bool:
    if isinstance(value, str):
        return any(hit.sure for hit in wanted.hits(value))
    return isinstance(value, bytes) and any(one.sure for one in mentions(value, wanted))
