"""Open the records, check them, and run transactions on them: many readers, one writer."""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from coldfield.errors import BadInput, StoreTrouble
from coldfield.records.faults import damaged, in_words
from coldfield.records.folder import Folder
from coldfield.records.migrate import HEAD, migrate, refuse_newer, revision
from coldfield.records.schema import APPLICATION_ID, metadata
from coldfield.records.wiping import TO_WIPE, WAIT_S, wipe_server, wipe_sqlite
from coldfield.records.words import HOLDS, holds

BUSY_S = 5.0
"""How long a write waits for another program that holds the file, s. Setting."""

WIPE_AGAIN_S = 5.0
"""How often it is tried again to write a file anew that others read, s. Setting."""

CHECKED_WHOLE_BYTES = 200_000_000
"""A file up to this size is checked whole when opened, a larger one without its tracks' files. Setting."""

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
    """

    def __init__(self, engine: Engine, *, place: str, now: Callable[[], datetime]) -> None:
        self.engine = engine
        self.place = place
        self.now = now
        engine.update_execution_options(coldfield_forgotten=[])
        self._writer = threading.RLock()
        self._held: Connection | None = None
        self._unwiped: set[str] = set()
        self._wiping = False
        self._again: threading.Thread | None = None
        self._closing = threading.Event()

    @property
    def is_sqlite(self) -> bool:
        """Return whether the records are in a SQLite file."""
        return self.engine.dialect.name == "sqlite"

    @property
    def forgotten(self) -> list[Any]:
        """Return who was forgotten while these records are open, as `Wanted`: in memory only."""
        forgotten: list[Any] = self.engine.get_execution_options()["coldfield_forgotten"]
        return forgotten

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a connection that sees one consistent state and changes nothing."""
        with in_words(), self.engine.connect() as connection, connection.begin():
            if not self.is_sqlite:
                connection.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"))
            yield connection

    @contextmanager
    def write(self, *, keep: bool = True) -> Iterator[Connection]:
        """Give a connection whose changes are kept whole when the block ends, or not at all.

        Without `keep` they are undone: what would have happened is known, and nothing did.
        """
        with in_words(), self._writer, self.engine.connect() as connection:
            connection = connection.execution_options(coldfield_write=True)
            with connection.begin() as transaction:
                yield connection
                if not keep:
                    transaction.rollback()

    def stamp(self) -> str:
        """Return the present moment as records carry it."""
        return stamp(self.now())

    def wipe(self, tables: Iterable[str] = (), *, wait_s: float = WAIT_S) -> bool:
        """See to it that what was removed is in no file of the records; return whether that is done.

        Where another connection still reads, it is tried again every few seconds, and at the end.

        Parameters
        ----------
        tables : iterable of str
            What a server writes anew; a SQLite file is written anew whole.
        wait_s : float
            How long others are waited for.
        """
        self._unwiped |= set(tables)
        with in_words(), self._writer:
            if self.is_sqlite:
                done = wipe_sqlite(self.engine, wait_s=wait_s)
            else:
                done = wipe_server(self.engine, self._unwiped, wait_s=wait_s)
        self._wiping = not done
        if done:
            self._unwiped = set()
        elif self._again is None and not self._closing.is_set():
            self._again = threading.Thread(target=self._wipe_later, daemon=True, name="coldfield-wipe")
            self._again.start()
        return done

    def wipe_what_is_left(self) -> None:
        """Write a file anew that an earlier process had to leave as it was; only for the one that writes."""
        if self.is_sqlite:
            with self.read() as connection:
                left = connection.exec_driver_sql("PRAGMA user_version").scalar_one() == TO_WIPE
            if left:
                self.wipe(wait_s=0)

    def _wipe_later(self) -> None:
        while self._wiping and not self._closing.wait(WIPE_AGAIN_S):
            with suppress(StoreTrouble):
                self.wipe(wait_s=0)

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
        self._closing.set()
        if self._again is not None:
            self._again.join()
        if self._wiping:
            with suppress(StoreTrouble):
                self.wipe(wait_s=0)
        if self._held is not None:
            self._held.invalidate()
            self._held.close()
            self._held = None
        self.engine.dispose()


def utc_now() -> datetime:
    """Return the present moment, UTC: the clock that doors hand to the records."""
    return datetime.now(UTC)  # noqa: TID251


def stamp(moment: datetime) -> str:
    """Return a moment as text of 24 characters: UTC, ISO 8601, milliseconds.

    Examples
    --------
    >>> stamp(datetime(2026, 2, 14, 9, 30, tzinfo=UTC))
    '2026-02-14T09:30:00.000Z'
    """
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


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
    database = Database(_sqlite_engine(folder.database, busy_s), place=str(folder.database), now=now)
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
    engine = create_engine(_server_url(url), pool_pre_ping=True, hide_parameters=True)
    shown = f"PostgreSQL database '{engine.url.database}' on {engine.url.host or 'this machine'}"
    database = Database(engine, place=shown, now=now)
    try:
        with database.write() as connection:
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
        pool_size=8,
        max_overflow=56,
        hide_parameters=True,
    )
    event.listen(engine, "connect", _set_up_connection)
    event.listen(engine, "begin", _begin)
    return engine


def _set_up_connection(connection: sqlite3.Connection, _record: Any) -> None:
    # Transactions are begun below, not by the driver.
    connection.isolation_level = None
    for pragma in ("foreign_keys = ON", "journal_mode = WAL", "synchronous = FULL", "secure_delete = ON"):
        connection.execute(f"PRAGMA {pragma}")
    connection.create_function(HOLDS, 2, holds, deterministic=True)


def _begin(connection: Connection) -> None:
    write = connection.get_execution_options().get("coldfield_write")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


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
