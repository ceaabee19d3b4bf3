"""Connections to SQLite and PostgreSQL: pools, transactions, and the setup of each connection."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from coldfield.errors import BadInput
from coldfield.message import message
from coldfield.records.words import HOLDS, holds

_POOL: dict[str, Any] = {"pool_size": 8, "max_overflow": 56}
"""More connections than reading threads, so that nobody waits for one. Setting."""


def server_engine(url: str) -> Engine:
    """Return an engine on a PostgreSQL server.

    Raises
    ------
    BadInput
        If the URL is not for PostgreSQL, or its driver is not installed.
    """
    return create_engine(_server_url(url), pool_pre_ping=True, hide_parameters=True, **_POOL)


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


def sqlite_engine(path: Path, busy_s: float) -> Engine:
    """Return an engine on a SQLite file whose writes take the lock at once and wait at most `busy_s`."""
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
    # Transactions are started below, not by the driver.
    connection.isolation_level = None
    for pragma in ("foreign_keys = ON", "journal_mode = WAL", "synchronous = FULL", "secure_delete = ON"):
        connection.execute(f"PRAGMA {pragma}")
    connection.create_function(HOLDS, 2, holds, deterministic=True)
