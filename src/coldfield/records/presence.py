"""Checks before records in a file are used: that the file exists, is ours, and is intact."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection

from coldfield.errors import StoreTrouble
from coldfield.message import message, verbatim
from coldfield.records.copying import read_pragma
from coldfield.records.faults import damaged, in_words
from coldfield.records.folder import Folder
from coldfield.records.kinds import KINDS
from coldfield.records.schema import APPLICATION_ID, metadata

CHECKED_WHOLE_BYTES = 200_000_000
"""A file up to this size is checked completely when opened, a larger one without tracks' files. Setting."""


def refuse_missing(folder: Folder) -> None:
    """Refuse to create records where there were some before: their file has been lost."""
    path = folder.database
    if path.exists() and (path.is_dir() or path.stat().st_size > 0):
        return
    if folder.copies() or any(one.exists() and one.stat().st_size > 0 for one in folder.logs()):
        raise missing(folder)


def missing(folder: Folder) -> StoreTrouble:
    """Return the error for records whose file is lost although there are copies or a log of it."""
    copies = folder.copies()
    path = str(folder.database)
    said = (
        message("fault.store_missing_with_copies", path=path, copy=str(copies[0]))
        if copies
        else message("fault.store_missing", path=path)
    )
    return StoreTrouble(said, kind="missing")


def refuse_other_files(path: Path) -> None:
    """Refuse a SQLite file made by another program; it is only read."""
    if not path.exists() or path.stat().st_size == 0:
        return
    with in_words():
        application = read_pragma(path, "application_id")
    if application not in (0, APPLICATION_ID):
        raise StoreTrouble(message("fault.store_foreign_file", path=str(path)), kind="foreign")


def check_integrity(connection: Connection) -> None:
    """Refuse a damaged file: inconsistent pages, or rows that refer to missing ones."""
    pages, page_bytes = (
        int(connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()) for name in ("page_count", "page_size")
    )
    whole = pages * page_bytes <= CHECKED_WHOLE_BYTES
    # Tracks' files make up nearly all of a large file; they are checked with every backup.
    files = [kind.file.table for kind in KINDS.values() if kind.file is not None]
    tables = [table.name for table in metadata.sorted_tables if table not in files]
    for part in ["1"] if whole else tables:
        first = connection.exec_driver_sql(f"PRAGMA integrity_check({part})").scalars().first()
        if first != "ok":
            raise damaged(verbatim(" ".join(str(first).split())[:80]))
    orphan = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    if orphan is not None:
        raise damaged(message("reason.orphan", table=str(orphan[0]), missing=str(orphan[2])))
