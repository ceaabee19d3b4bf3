"""Closing records in use: running work is undone, and removed data is wiped from the log."""

from __future__ import annotations

import time
from contextlib import suppress
from typing import Any

from sqlalchemy import Engine, event

from coldfield.records.faults import ending

CLOSE_S = 5.0
"""How long closing waits for work on the records in other threads, s. Setting."""


class Running:
    """The connections of an engine that are in use, so that closing can end their work.

    Parameters
    ----------
    engine : Engine
        An engine for SQLite or PostgreSQL.
    """

    def __init__(self, engine: Engine) -> None:
        self._stop = "interrupt" if engine.dialect.name == "sqlite" else "cancel"
        self._in_use: dict[int, Any] = {}
        self._ended = False
        event.listen(engine, "checkout", self._checked_out)
        event.listen(engine, "checkin", self._checked_in)
        event.listen(engine, "before_cursor_execute", self._refuse)

    def end(self) -> None:
        """Allow no new statements, end the running ones, and wait until their threads have finished."""
        self._ended = True
        latest = time.monotonic() + CLOSE_S
        while (running := list(self._in_use.values())) and time.monotonic() < latest:
            for connection in running:
                with suppress(Exception):
                    getattr(connection, self._stop)()
            time.sleep(0.02)

    def _checked_out(self, connection: Any, _record: Any, _proxy: Any) -> None:
        self._in_use[id(connection)] = connection

    def _checked_in(self, connection: Any, _record: Any) -> None:
        self._in_use.pop(id(connection), None)

    def _refuse(self, *_: Any) -> None:
        if self._ended:
            raise ending()


def empty_log(engine: Engine) -> bool:
    """Merge SQLite's log into the file and empty it; False if a reader still needs it.

    Data deleted from the file itself is overwritten at once (secure_delete).
    """
    raw = engine.raw_connection()
    try:
        cursor = raw.cursor()
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        row = cursor.fetchone()
    finally:
        raw.close()
    return row is not None and row[0] == 0
