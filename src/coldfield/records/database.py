"""Open the records, check them, and run transactions on them: many readers, one writer."""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from coldfield.errors import BadInput, StoreTrouble
from coldfield.records.faults import busy, damaged, in_words
from coldfield.records.folder import Folder
from coldfield.records.migrate import HEAD, migrate, refuse_newer, revision
from coldfield.records.moments import stamp
from coldfield.records.schema import APPLICATION_ID, metadata
from coldfield.records.words import HOLDS, holds

BUSY_S = 2.0
"""How long a write waits for its turn, and for another program that holds the file, s. Setting."""

PATIENT_S = 600.0
"""How long a write waits that nobody stands before and whose work would be lost, s. Setting."""

CHECKED_WHOLE_BYTES = 200_000_000
"""A file up to this size is checked whole when opened, a larger one without its tracks' files. Setting."""

_POOL: dict[str, Any] = {"pool_size": 8, "max_overflow": 56}
"""More connections than there are threads that read: nobody waits for one. Setting."""

ADVISORY_LOCK = 0x434F4C44
"""The key of PostgreSQL's advisory lock that the one writing process holds."""


class Database:
    """The records behind one engine.

    Parameters
    ----------
    engine : Engine
        An engine made by `open_sqlite` or `open_server`, its schema at the newest migration.
    place : str
        Where the records are, in words for a person; holds no password.
    now : callable
        Returns the present moment, UTC.
    busy_s : float
        How long a write waits for its turn, s.
    """

    def __init__(
        self, engine: Engine, *, place: str, now: Callable[[], datetime], busy_s: float = BUSY_S
    ) -> None:
        self.engine = engine
        self.place = place
        self.now = now
        self.busy_s = busy_s
        self._writer = threading.RLock()
        self._held: Connection | None = None

    @property
    def is_sqlite(self) -> bool:
        """Return whether the records are in a SQLite file."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a connection that sees one consistent state and changes nothing."""
        with in_words(), self.engine.connect() as connection, connection.begin():
            if not self.is_sqlite:
                connection.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"))
            yield connection

    @contextmanager
    def write(self, *, keep: bool = True, wait_s: float | None = None) -> Iterator[Connection]:
        """Give a connection whose changes are kept whole when the block ends, or not at all.

        Without `keep` they are undone: what would have happened is known, and nothing did.

        Raises
        ------
        StoreTrouble
            If it is not this write's turn within `wait_s`, or else `busy_s`; nothing was done then.
        """
        turn = self._turn(self.busy_s if wait_s is None else wait_s)
        with in_words(), turn as left_s, self.engine.connect() as connection:
            left_ms = int(left_s * 1000)
            connection = connection.execution_options(coldfield_write_ms=left_ms)
            with connection.begin() as transaction:
                if not self.is_sqlite:
                    connection.execute(text(f"SET LOCAL lock_timeout = {max(left_ms, 1)}"))
                yield connection
                if not keep:
                    transaction.rollback()

    @contextmanager
    def _turn(self, wait_s: float) -> Iterator[float]:
        """Hold the one writer's lock; give how much of the time to wait is left, s."""
        began = monotonic()
        if not self._writer.acquire(timeout=wait_s):
            raise busy()
        try:
            yield max(wait_s - (monotonic() - began), 0.0)
        finally:
            self._writer.release()

    def stamp(self) -> str:
        """Return the present moment as records carry it."""
        return stamp(self.now())

    def wipe(self) -> None:
        """See to it that what was removed is no longer in the file or its log."""
        with in_words(), self._writer:
            if self.is_sqlite:
                # What is deleted is overwritten at once (secure_delete); the log is not.
                raw = self.engine.raw_connection()
                try:
                    raw.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
                finally:
                    raw.close()
                return
            with self.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
                connection.exec_driver_sql("VACUUM")

    def hold_server_lock(self) -> bool:
        """Take PostgreSQL's lock for the one writing process; True where it was free (or on SQLite)."""
        if self.is_sqlite or self._held is not None:
            return True
        with in_words():
            held = self.engine.connect().execution_options(isolation_level="AUTOCOMMIT")
            got = held.execute(text("SELECT pg_try_advisory_lock(:key)"), {"key": ADVISORY_LOCK}).scalar_one()
        if got:
            self._held = held
        else:
            held.close()
        return bool(got)

    def close(self) -> None:
        """Let go of every connection."""
        if self._held is not None:
            self._held.invalidate()
            self._held.close()
            self._held = None
        self.engine.dispose()


def utc_now() -> datetime:
    """Return the present moment, UTC: the clock that doors hand to the records."""
    return datetime.now(UTC)  # noqa: TID251


def open_sqlite(
    folder: Folder, *, now: Callable[[], datetime] = utc_now, busy_s: float = BUSY_S, check: bool = True
) -> Database:
    """Open the records of a folder, made anew where there are none, migrated where they are older.

    Before a migration the old file is copied into the folder 'kept'.

    Raises
    ------
    StoreTrouble
        If the file is damaged, locked, read-only, of another program or of a newer Coldfield. The
        file is left as it was.
    """
    folder.make()
    _refuse_other_files(folder.database)
    engine = _sqlite_engine(folder.database, busy_s)
    database = Database(engine, place=str(folder.database), now=now, busy_s=busy_s)
    try:
        with database.read() as connection:
            found = revision(connection)
            if found is not None:
                refuse_newer(found)
                if check:
                    _check_integrity(connection)
        if found != HEAD:
            _migrate_sqlite(database, folder, found)
    except BaseException:
        database.close()
        raise
    return database


def open_server(url: str, *, now: Callable[[], datetime] = utc_now) -> Database:
    """Open records on a PostgreSQL server, its tables made or migrated in one transaction.

    Raises
    ------
    BadInput
        If the URL is not one of PostgreSQL, or its driver is not installed.
    StoreTrouble
        If the server does not answer, or its database is of another program or a newer Coldfield.
    """
    engine = create_engine(_server_url(url), pool_pre_ping=True, hide_parameters=True, **_POOL)
    shown = f"PostgreSQL database '{engine.url.database}' on {engine.url.host or 'this machine'}"
    database = Database(engine, place=shown, now=now)
    try:
        with database.write(wait_s=PATIENT_S) as connection:
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": ADVISORY_LOCK + 1})
            found = revision(connection)
            if found is not None:
                refuse_newer(found)
            if found != HEAD:
                migrate(connection)
    except BaseException:
        database.close()
        raise
    return database


def _server_url(url: str) -> URL:
    try:
        parsed = make_url(url)
        if parsed.get_backend_name() != "postgresql":
            raise BadInput("--database: must start with postgresql://; for a SQLite file use --data")
        parsed = parsed.set(drivername="postgresql+psycopg")
        parsed.get_dialect().import_dbapi()
    except (ArgumentError, NoSuchModuleError):
        raise BadInput("--database: is not a URL such as postgresql://user@host/name") from None
    except ImportError:
        raise BadInput(
            "--database: the driver is missing; install it with: pip install 'coldfield[postgresql]'"
        ) from None
    return parsed


def _sqlite_engine(path: Path, busy_s: float) -> Engine:
    engine = create_engine(
        URL.create("sqlite+pysqlite", database=str(path)),
        connect_args={"timeout": busy_s},
        hide_parameters=True,
        **_POOL,
    )

    def begin(connection: Connection) -> None:
        write_ms = connection.get_execution_options().get("coldfield_write_ms")
        wait_ms = int(busy_s * 1000) if write_ms is None else write_ms
        connection.exec_driver_sql(f"PRAGMA busy_timeout = {wait_ms}")
        connection.exec_driver_sql("BEGIN" if write_ms is None else "BEGIN IMMEDIATE")

    event.listen(engine, "connect", _set_up_connection)
    event.listen(engine, "begin", begin)
    return engine


def _set_up_connection(connection: sqlite3.Connection, _record: Any) -> None:
    # Transactions are begun below, not by the driver.
    connection.isolation_level = None
    for pragma in ("foreign_keys = ON", "journal_mode = WAL", "synchronous = FULL", "secure_delete = ON"):
        connection.execute(f"PRAGMA {pragma}")
    connection.create_function(HOLDS, 2, holds, deterministic=True)


def _refuse_other_files(path: Path) -> None:
    if not path.exists() or path.stat().st_size == 0:
        return
    with in_words():
        application = read_pragma(path, "application_id")
    if application not in (0, APPLICATION_ID):
        raise StoreTrouble(
            f"{path} belongs to another program: nothing was changed; choose another folder with --data",
            kind="foreign",
        )


def read_pragma(path: Path, name: str) -> Any:
    """Return one value of a SQLite file's header, opened for reading only."""
    connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        return connection.execute(f"PRAGMA {name}").fetchone()[0]
    finally:
        connection.close()


def _check_integrity(connection: Connection) -> None:
    pages, page_bytes = (
        int(connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()) for name in ("page_count", "page_size")
    )
    whole = pages * page_bytes <= CHECKED_WHOLE_BYTES
    # The tracks' files are nearly all of a large file; they are checked with every backup.
    tables = [table.name for table in metadata.sorted_tables if table.name not in ("original", "grid_file")]
    for part in ["1"] if whole else tables:
        first = connection.exec_driver_sql(f"PRAGMA integrity_check({part})").scalars().first()
        if first != "ok":
            raise damaged(" ".join(str(first).split())[:80])
    orphan = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    if orphan is not None:
        raise damaged(f"a row of '{orphan[0]}' refers to a missing row of '{orphan[2]}'")


def _migrate_sqlite(database: Database, folder: Folder, found: str | None) -> None:
    if found is not None:
        copy_sqlite(folder.database, folder.kept_copy(f"migration-{HEAD}", database.now()))
    with database.write() as connection:
        migrate(connection)
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


def copy_sqlite(source: Path, target: Path) -> None:
    """Copy a SQLite file, in use or not, as one consistent state; whole or not at all.

    Raises
    ------
    StoreTrouble
        If the disk is full or the source is damaged; no part of the target stays.
    """
    part = target.with_name(f".{target.name}.part")
    try:
        with in_words():
            _copy(source, part)
        if read_pragma(part, "integrity_check(1)") != "ok":
            raise damaged("its copy does not pass the check")
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        os.replace(part, target)
    finally:
        for left in (part, part.with_name(part.name + "-journal")):
            left.unlink(missing_ok=True)


def _copy(source: Path, target: Path) -> None:
    target.unlink(missing_ok=True)
    with_source = sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)
    try:
        with_target = sqlite3.connect(target)
        try:
            with_source.backup(with_target)
            # A copy is one file: no write-ahead log beside it.
            with_target.execute("PRAGMA journal_mode = DELETE")
        finally:
            with_target.close()
    finally:
        with_source.close()
