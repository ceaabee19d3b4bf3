"""What a person should check in a run: splits entered twice, people of the same name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coldfield.drill.repeats import Repeat, repeats_of
from coldfield.drill.run import Split
from coldfield.files.split_names import split_called
from coldfield.records.store import Record, Store


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitAgain:
    """A split entered more than once in a run: the ids of its records, oldest first."""

    split: str
    burial: str | None
    searcher: str | None
    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Namesake:
    """A searcher of the drill without a person, and the one person of the same name."""

    searcher: str
    person_id: str
    name: str


def splits_again(rows: Sequence[Record]) -> tuple[SplitAgain, ...]:
    """Return the splits that occur more than once in a run's records."""
    order = sorted(rows, key=lambda row: row["time_unix_s"] or row["since_alarm_s"] or 0.0)
    found = repeats_of([split_of(row) for row in order])
    return tuple(
        SplitAgain(
            split=one.split,
            burial=one.burial,
            searcher=one.searcher,
            ids=tuple(order[i]["id"] for i in one.rows),
        )
        for one in found
    )


def split_of(row: Record) -> Split:
    """Return a kept split, under its name with a fixed meaning if it has one."""
    keys = ("searcher", "burial", "time_unix_s", "since_alarm_s", "note")
    return Split(split=split_called(row["split"]), **{key: row[key] for key in keys})


def lines_again(there: Sequence[Split], brought: Sequence[tuple[int, Split]]) -> tuple[int, ...]:
    """Return the lines of a file that repeat a split of the run or an earlier line of the file.

    Rows that are identical to kept ones are left out: they are not written a second time anyway.
    """
    kept = set(there)
    new = [(line, row) for line, row in brought if row not in kept]
    found: list[Repeat] = list(repeats_of([*there, *(row for _, row in new)]))
    first = len(there)
    return tuple(sorted({new[i - first][0] for one in found for i in one.rows[1:] if i >= first}))


def namesakes(store: Store, run: Record) -> tuple[Namesake, ...]:
    """Return the searchers without a person for whom exactly one person on record has the same name."""
    told = {one["searcher"]: one["person_id"] for one in run["searchers"]}
    drill = store.drill_version(run["drill_id"], run["drill_version"])
    by_name: dict[str, list[Record]] = {}
    for person in _people(store):
        by_name.setdefault(person["name"].strip().casefold(), []).append(person)
    found = []
    for one in drill["searchers"]:
        people = by_name.get(str(one.get("name") or "").strip().casefold(), [])
        if not told.get(one["id"]) and len(people) == 1 and people[0]["id"] not in told.values():
            [person] = people
            found.append(Namesake(searcher=one["id"], person_id=person["id"], name=person["name"]))
    return tuple(found)


def _people(store: Store) -> list[Record]:
    people: list[Record] = []
    while page := store.page("people", after=people[-1]["id"] if people else None, limit=500):
        people += page
    return people
