"""Open the records, check them, and run transactions on them: many readers, one writer."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, text

from coldfield.errors import StoreTrouble, UnknownRecord
from coldfield.message import message
from coldfield.records.copying import copy_sqlite
from coldfield.records.ending import Running, empty_log
from coldfield.records.engines import server_engine, sqlite_engine
from coldfield.records.faults import busy, in_words
from coldfield.records.folder import Folder, Lock
from coldfield.records.migrate import HEAD, migrate, refuse_misfit, revision
from coldfield.records.moments import stamp
from coldfield.records.presence import check_integrity, missing, refuse_missing, refuse_other_files
from coldfield.records.schema import APPLICATION_ID
from coldfield.records.underway import Work, beside_others, end_what_was_cut_off, noted, take_mark
from coldfield.records.wiping import TO_WIPE, WAIT_S, wipe_server, wipe_sqlite

log = logging.getLogger("coldfield.records")

BUSY_S = 2.0
"""How long a write waits for its turn, and for another program that locks the file, s. Setting."""

PATIENT_S = 600.0
"""How long a background write waits whose work would otherwise be lost, s. Setting."""

WIPE_AGAIN_S = 5.0
"""Interval between attempts to rewrite a file that others are reading, s. Setting."""

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
        Resources held while the records are open and released when they are closed.
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
        """Return the people forgotten while these records are open, as `Wanted`; in memory only."""
        forgotten: list[Any] = self.engine.get_execution_options()["coldfield_forgotten"]
        return forgotten

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Yield a connection that sees one consistent state and changes nothing."""
        with in_words(), self.engine.connect() as connection, connection.begin():
            if not self.is_sqlite:
                connection.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"))
            yield connection

    @contextmanager
    def write(self, *, keep: bool = True, wait_s: float | None = None) -> Iterator[Connection]:
        """Yield a connection whose changes are committed together when the block ends, or not at all.

        Without `keep` they are rolled back: the result is known, and nothing has changed.

        Raises
        ------
        StoreTrouble
            If it is not this write's turn within `wait_s`, by default `busy_s`; nothing was done then.
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
        """Hold the lock of the single writer; yield how much of the waiting time is left, s."""
        began = time.monotonic()
        if not self._writer.acquire(timeout=wait_s):
            raise busy()
        try:
            yield max(wait_s - (time.monotonic() - began), 0.0)
        finally:
            self._writer.release()

    @contextmanager
    def change(self, work: Work, about: str = "") -> Iterator[Connection]:
        """Yield the same as `write` for a large change; if it is cut off, the next command reports
        how it ended.

        Parameters
        ----------
        work : str
            What is done.
        about : str
            The file that is read; never a person's name.

        Raises
        ------
        StoreTrouble
            If another such change does not end in time.
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
        """Return the present moment in the form used in records."""
        return stamp(self.now())

    def wipe(self, tables: Iterable[str] = (), *, wait_s: float = WAIT_S) -> bool:
        """Make sure that removed data is in no file of the records; return whether that is done.

        If another connection is still reading, it is tried again every few seconds, and on closing.

        Parameters
        ----------
        tables : iterable of str
            The tables that a server rewrites; a SQLite file is always rewritten completely.
        wait_s : float
            How long to wait for others, s.
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
        """Rewrite a file that an earlier process had to leave unchanged; only for the writing process."""
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
        """Take PostgreSQL's lock for the writing process; True if it was free (or on SQLite)."""
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
        """Stop and undo whatever still runs on the records; close all connections, which merges the log."""
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
    """Return the present moment, UTC: the clock that commands and the service pass to the records."""
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
    """Open the records of a folder; create them if there are none, and migrate older ones.

    Anything that was cut off is first completed and reported in the log. Before a migration the old file is
    kept.

    Parameters
    ----------
    folder : Folder
        Their place.
    now : callable
        Returns the present moment.
    busy_s : float
        How long a write waits for another program, s.
    check : bool
        Check the file first.
    alone : bool
        The caller holds the lock of the writing process; otherwise it is taken for a moment if something
        has to be completed or migrated.
    make : bool
        Create records if there are none yet.

    Raises
    ------
    StoreTrouble
        If the file is damaged, locked, read-only, from another program or from a newer Coldfield, or if
        it is missing although there are copies of it. The file is left as it was.
    Refused
        If another process is restoring the records, or has older ones open.
    UnknownRecord
        If there are none and none are to be created.
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
        engine = sqlite_engine(folder.database, busy_s)
        database = Database(engine, place=str(folder.database), now=now, busy_s=busy_s, held=held.pop_all())
    try:
        _make_ready(database, folder, check=check, alone=alone, make=make)
        if alone and left:
            # Left by a killed process; data removed from the file must not stay in its log.
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
    """Open records on a PostgreSQL server; its tables are created or migrated in one transaction.

    Raises
    ------
    BadInput
        If the URL is not for PostgreSQL, or its driver is not installed.
    StoreTrouble
        If the server does not answer, or its database is from another program or a newer Coldfield.
    """
    engine = server_engine(url)
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
            # Nothing was changed, and the next attempt keeps its own copy.
            kept.unlink(missing_ok=True)
            raise
        log.warning("these records had schema %s and have %s now; kept from before: %s", found, HEAD, kept)


def _migrated(connection: Connection) -> None:
    migrate(connection)
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
