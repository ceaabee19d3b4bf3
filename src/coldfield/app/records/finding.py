"""Find anything with its own page by a few words: drills, runs, people, courses, kit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from sqlalchemy import Connection

from coldfield.records.database import Database
from coldfield.records.run_list import runs_at_a_glance
from coldfield.records.store import Store
from coldfield.records.words import fold

FoundKind = Literal["drills", "runs", "people", "courses", "kit"]

MOST_OF_A_KIND, LOOKED_AT = 6, 40
"""Results per kind, chosen as the best of this many matches. Settings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A record that contains the words.

    `name` is its name ('' for an unnamed run), `beside` the drill of a run or the kind of a piece of kit,
    `held_utc` when a run was held.
    """

    kind: FoundKind
    id: str
    name: str
    beside: str
    held_utc: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundAnswer:
    """The results, kind by kind; within each, names that begin with the words come first."""

    items: tuple[Found, ...]


def find_anything(database: Database, words: str) -> FoundAnswer:
    """Return the records that contain all of some words; without words, none.

    Parameters
    ----------
    database : Database
        The records.
    words : str
        Separated by spaces; case and accents do not matter.
    """
    if not words.strip():
        return FoundAnswer(items=())
    with database.read() as connection:
        store = Store(connection, database.stamp())
        kinds = (
            _plain(store, "drills", "name", words),
            _runs(connection, words),
            _plain(store, "people", "name", words),
            _plain(store, "courses", "name", words),
            _plain(store, "kit", "label", words, beside="kind"),
        )
        return FoundAnswer(items=tuple(one for kind in kinds for one in _best(kind, words)))


def _plain(store: Store, kind: FoundKind, name: str, words: str, *, beside: str = "") -> list[Found]:
    return [
        Found(kind=kind, id=row["id"], name=row[name], beside=row[beside] if beside else "", held_utc=None)
        for row in store.page(kind, find=words, limit=LOOKED_AT)
    ]


def _runs(connection: Connection, words: str) -> list[Found]:
    return [
        Found(kind="runs", id=run.id, name=run.name, beside=run.drill, held_utc=run.held_utc)
        for run in runs_at_a_glance(connection, words=words, limit=LOOKED_AT)
    ]


def _best(found: Iterable[Found], words: str) -> list[Found]:
    begins = fold(words.strip())
    return sorted(found, key=lambda one: not fold(one.name).startswith(begins))[:MOST_OF_A_KIND]
