"""Make sure that data removed from the records is no longer in their files either."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import DBAPIError

from coldfield.records.schema import metadata

WAIT_S = 2.0
"""How long to wait for another connection that is still reading, s. Setting."""

AGAIN_S = 0.1

TO_WIPE = 1
"""The bit of a file's `PRAGMA user_version` that says whether it still has to be rewritten."""

_CHECKPOINT = "PRAGMA wal_checkpoint(TRUNCATE)"

STATISTICS = "pg_catalog.pg_statistic"
"""Where PostgreSQL keeps the most frequent values of each column, including names."""

_NEXT_TRANSACTION = text("SELECT pg_snapshot_xmax(pg_current_snapshot())::text::bigint")
_SEEN_BACK_TO = text("SELECT relfrozenxid::text::bigint FROM pg_class WHERE oid = CAST(:table AS regclass)")


def mark_to_wipe(connection: Connection) -> None:
    """Note in a SQLite file, along with the removal, that it still has to be rewritten."""
    if connection.dialect.name == "sqlite":
        mark = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
        connection.exec_driver_sql(f"PRAGMA user_version = {mark | TO_WIPE}")


def wipe_sqlite(engine: Engine, *, wait_s: float = WAIT_S) -> bool:
    """Rewrite the file and empty its log; return whether no removed data is left there.

    Deleted data is overwritten at once (secure_delete), but the free space of pages that were rearranged
    earlier may contain a copy, so the file is rewritten. Another connection that is still reading keeps the
    log, and with it the earlier content of the file.
    """
    until = time.monotonic() + wait_s
    while True:
        if _wiped(engine):
            return True
        if time.monotonic() > until:
            return False
        time.sleep(AGAIN_S)


def _wiped(engine: Engine) -> bool:
    raw = engine.raw_connection()
    try:
        cursor = raw.cursor()
        patience = cursor.execute("PRAGMA busy_timeout").fetchone()[0]
        cursor.execute("PRAGMA busy_timeout = 0")
        try:
            return _emptied(cursor)
        finally:
            cursor.execute(f"PRAGMA busy_timeout = {patience}")
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_FULL):
            return False
        raise
    finally:
        raw.close()


def _emptied(cursor: Any) -> bool:
    # If somebody is reading, the log would only grow: empty it first as far as possible.
    if cursor.execute(_CHECKPOINT).fetchone()[0]:
        return False
    cursor.execute("VACUUM")
    mark = cursor.execute("PRAGMA user_version").fetchone()[0]
    cursor.execute(f"PRAGMA user_version = {mark & ~TO_WIPE}")
    return not cursor.execute(_CHECKPOINT).fetchone()[0]


def wipe_server(engine: Engine, tables: Iterable[str], *, wait_s: float = WAIT_S) -> bool:
    """Make PostgreSQL rewrite tables and their statistics; return whether it could.

    A row that another connection may still see is copied into the new table's file, so this waits for such
    connections. The table shows whether one came in between: after ``FREEZE`` it names the oldest transaction
    that anybody could still see.
    """
    wanted = sorted({*tables} & set(metadata.tables))
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql(f"SET lock_timeout = '{int(wait_s * 1000)}ms'")
        try:
            if not _nobody_reads(connection, wait_s):
                return False
            until = time.monotonic() + wait_s
            anew = [
                _written_anew(connection, f'"{table}"', "FULL, FREEZE, ANALYZE", until) for table in wanted
            ]
            return _written_anew(connection, STATISTICS, "FULL, FREEZE", until) and all(anew)
        except DBAPIError as error:
            if str(getattr(error.orig, "sqlstate", "")) == "55P03":
                return False
            raise
        finally:
            connection.exec_driver_sql("RESET lock_timeout")


def _written_anew(connection: Connection, table: str, how: str, until: float) -> bool:
    """Rewrite a table and return whether no removed data was copied along.

    A connection that is being opened to any database of the server may see an earlier state for an instant.
    """
    removed_before = connection.execute(_NEXT_TRANSACTION).scalar_one()
    while True:
        connection.exec_driver_sql(f"VACUUM ({how}) {table}")
        seen_back_to = connection.execute(_SEEN_BACK_TO, {"table": table}).scalar_one()
        # Transaction numbers wrap around after 32 bits.
        if (seen_back_to - removed_before) % 2**32 < 2**31:
            return True
        if time.monotonic() > until:
            return False
        time.sleep(AGAIN_S)


def _nobody_reads(connection: Connection, wait_s: float) -> bool:
    """Return whether no other connection to this database sees an earlier state, after waiting a while."""
    until = time.monotonic() + wait_s
    query = text(
        "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
        "AND pid <> pg_backend_pid() AND (backend_xmin IS NOT NULL OR backend_xid IS NOT NULL)"
    )
    while connection.execute(query).scalar_one():
        if time.monotonic() > until:
            return False
        time.sleep(AGAIN_S)
    return True
