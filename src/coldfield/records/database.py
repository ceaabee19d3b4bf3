"""Open the records, check them, and run transactions on them: many readers, one writer."""

from __future__ import annotations

import logging
import sqlite3
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from coldfield.errors import BadInput, StoreTrouble, UnknownRecord
from coldfield.message import message
from coldfield.records.copying import copy_sqlite
from coldfield.records.ending import Running, empty_log
from coldfield.records.faults import busy, in_words
from coldfield.records.folder import Folder, Lock
from coldfield.records.migrate import HEAD, migrate, refuse_misfit, revision
from coldfield.records.moments import stamp
from coldfield.records.presence import check_integrity, missing, refuse_missing, refuse_other_files
from coldfield.records.schema import APPLICATION_ID
from coldfield.records.underway import Work, beside_others, end_what_was_cut_off, noted, take_mark
from coldfield.records.wiping import TO_WIPE, WAIT_S, wipe_server, wipe_sqlite
from coldfield.records.words import HOLDS, holds

log = logging.getLogger("coldfield.records")

BUSY_S = 2.0
"""How long a write waits for its turn, and for another program that holds the file, s. Setting."""

PATIENT_S = 600.0
"""How long a write waits that nobody stands before and whose work would be lost, s. Setting."""

WIPE_AGAIN_S = 5.0
"""How often it is tried again to write a file anew that others read, s. Setting."""

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
    held : ExitStack, optional
        What is held while the records are open, and let go of when they are closed.
    """

    def __init__(
        self,
        engine: Engine,
        *,
        place: str,
        now: Callable[[], datetime],
        busy_s: float = BUSY_S,
        held: ExitStack | None = None,
    ) -> None:
        self.engine = engine
        self.place = place
        self.now = now
        self.busy_s = busy_s
        engine.update_execution_options(coldfield_forgotten=[])
        self._writer = threading.RLock()
        self._held: Connection | None = None
        self._noting = threading.Lock()
        self._running = Running(engine)
        self._until_closed = held or ExitStack()
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
        began = time.monotonic()
        if not self._writer.acquire(timeout=wait_s):
            raise busy()
        try:
            yield max(wait_s - (time.monotonic() - began), 0.0)
        finally:
            self._writer.release()

    @contextmanager
    def change(self, work: Work, about: str = "") -> Iterator[Connection]:
        """Give what `write` gives, for a large change: if it is cut off, the next command tells how it ended.

        Parameters
        ----------
        work : str
            What is done.
        about : str
            The file it reads; no person's name.

        Raises
        ------
        StoreTrouble
            If another such change does not end.
        """
        if not self.is_sqlite:
            with self.write() as connection:
                yield connection
            return
        folder = Folder(Path(str(self.engine.url.database)).parent)
        if not self._noting.acquire(timeout=self.busy_s):
            raise busy()
        try:
            with noted(folder, work, about) as mark, self.write() as connection:
                take_mark(connection, mark)
                yield connection
        finally:
            self._noting.release()

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
        done = False
        if self._writer.acquire(timeout=wait_s):
            try:
                with in_words():
                    done = self._wiped(wait_s)
            finally:
                self._writer.release()
        self._wiping = not done
        if done:
            self._unwiped = set()
        elif self._again is None and not self._closing.is_set():
            self._again = threading.Thread(target=self._wipe_later, daemon=True, name="coldfield-wipe")
            self._again.start()
        return done

    def _wiped(self, wait_s: float) -> bool:
        if self.is_sqlite:
            return wipe_sqlite(self.engine, wait_s=wait_s)
        return wipe_server(self.engine, self._unwiped, wait_s=wait_s)

    def wipe_what_is_left(self) -> None:
        """Write a file anew that an earlier process had to leave as it was; only for the one that writes."""
        if self.is_sqlite:
            with self.read() as connection:
                left = connection.exec_driver_sql("PRAGMA user_version").scalar_one() & TO_WIPE
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
        """End what still runs on the records, undone; let go of every connection: the log is folded in."""
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
        self._running.end()
        self.engine.dispose()
        self._until_closed.close()


def utc_now() -> datetime:
    """Return the present moment, UTC: the clock that doors hand to the records."""
    return datetime.now(UTC)  # noqa: TID251


def open_sqlite(
    folder: Folder,
    *,
    now: Callable[[], datetime] = utc_now,
    busy_s: float = BUSY_S,
    check: bool = True,
    alone: bool = False,
    make: bool = True,
) -> Database:
    """Open the records of a folder, made anew where there are none, migrated where they are older.

    What a command left that was cut off is ended first and told in the log. Before a migration the old
    file is copied into the folder 'kept'.

    Parameters
    ----------
    folder : Folder
        Where they are.
    now : callable
        Returns the present moment.
    busy_s : float
        How long a write waits for another program, s.
    check : bool
        Check the file first.
    alone : bool
        The caller holds the lock of the one writing process; otherwise it is taken for a moment where
        something has to be ended or migrated.
    make : bool
        Make records where there are none yet.

    Raises
    ------
    StoreTrouble
        If the file is damaged, locked, read-only, of another program or of a newer Coldfield, or is
        missing beside copies of it. The file is left as it was.
    Refused
        If another process is just restoring the records, or has older ones open.
    UnknownRecord
        If there are none and none are to be made.
    """
    folder.make()
    with ExitStack() as held:
        if alone:
            end_what_was_cut_off(folder)
        else:
            held.enter_context(beside_others(folder))
        refuse_missing(folder)
        refuse_other_files(folder.database)
        left = any(path.exists() for path in folder.logs())
        engine = _sqlite_engine(folder.database, busy_s)
        database = Database(engine, place=str(folder.database), now=now, busy_s=busy_s, held=held.pop_all())
    try:
        _make_ready(database, folder, check=check, alone=alone, make=make)
        if alone and left:
            # Left by a process that was killed; what was removed from the file is not to stay in its log.
            with suppress(StoreTrouble), in_words():
                empty_log(database.engine)
    except BaseException:
        database.close()
        raise
    return database


def _make_ready(database: Database, folder: Folder, *, check: bool, alone: bool, make: bool) -> None:
    with database.read() as connection:
        found = revision(connection)
        if found is not None and check:
            check_integrity(connection)
        if found == HEAD:
            refuse_misfit(connection)
    if found is None and folder.copies():
        raise missing(folder)
    if found is None and not make:
        raise UnknownRecord(message("fault.no_records", path=str(folder.path)))
    if found == HEAD:
        return
    lock = None if alone else Lock(folder.path / "lock", who="a Coldfield that makes the records ready")
    try:
        _migrate_sqlite(database, folder)
    finally:
        if lock is not None:
            lock.release()


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
            if revision(connection) != HEAD:
                migrate(connection)
            refuse_misfit(connection)
    except BaseException:
        database.close()
        raise
    return database


def _server_url(url: str) -> URL:
    try:
        parsed = make_url(url)
        if parsed.get_backend_name() != "postgresql":
            raise BadInput(message("fault.no_postgresql_url").at("--database"))
        parsed = parsed.set(drivername="postgresql+psycopg")
        parsed.get_dialect().import_dbapi()
    except (ArgumentError, NoSuchModuleError):
        raise BadInput(message("fault.no_url").at("--database")) from None
    except ImportError:
        raise BadInput(message("fault.no_driver").at("--database")) from None
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


def _migrate_sqlite(database: Database, folder: Folder) -> None:
    with database.read() as connection:
        found = revision(connection)
    if found is None:
        with database.write() as connection:
            _migrated(connection)
    elif found != HEAD:
        kept = folder.kept_copy(f"migration-{HEAD}", database.now())
        copy_sqlite(folder.database, kept)
        try:
            with database.change("migration") as connection:
                _migrated(connection)
        except StoreTrouble:
            # Nothing was changed, and the next try keeps a copy of its own.
            kept.unlink(missing_ok=True)
            raise
        log.warning("these records had schema %s and have %s now; kept from before: %s", found, HEAD, kept)


def _migrated(connection: Connection) -> None:
    migrate(connection)
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
