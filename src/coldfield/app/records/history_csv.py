"""A person's runs over the years as CSV, with a row for each split time and each phase."""

from __future__ import annotations

from collections.abc import Iterator

from coldfield.files.csv_text import csv_text
from coldfield.records.database import Database
from coldfield.records.history import MOST_LISTED, HistoryEntry, person_history

HEAD = (
    "run_id",
    "held_utc",
    "run",
    "drill",
    "drill_version",
    "simulated",
    "searcher",
    "burial",
    "row",
    "name",
    "seconds",
    "older_model",
)


def history_csv(database: Database, person_id: str) -> str:
    """Return all runs in which a person searched, newest first, from `person_history`.

    `row` is 'split' (`seconds` since the alarm), 'phase' (its duration in `seconds`, from the newest debrief)
    or, for a run with neither, 'run'. Seconds have the digits with which they are kept.

    Raises
    ------
    UnknownRecord
        If there is no such person.
    """
    return csv_text([HEAD, *(row for entry in _entries(database, person_id) for row in _rows(entry))])


def _entries(database: Database, person_id: str) -> Iterator[HistoryEntry]:
    before = None
    with database.read() as connection:
        while True:
            page = person_history(connection, person_id, before=before, limit=MOST_LISTED)
            yield from page
            if len(page) < MOST_LISTED:
                return
            before = page[-1].run_id


def _rows(entry: HistoryEntry) -> Iterator[tuple[object, ...]]:
    run = (
        entry.run_id,
        entry.held_utc,
        entry.run,
        entry.drill,
        entry.drill_version,
        entry.simulated,
        entry.searcher,
    )
    told = [
        (burial, row, name, seconds)
        for row, by_burial in (("split", entry.seconds), ("phase", entry.phases))
        for burial, times in by_burial.items()
        for name, seconds in times.items()
    ]
    for burial, row, name, seconds in told or [("", "run", "", None)]:
        yield (*run, burial, row, name, seconds, entry.older_model if row == "phase" else None)
