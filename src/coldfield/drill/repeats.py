"""Splits of a run that occur twice: pressed by two people, or both typed and read from a file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coldfield.drill.run import SPLIT_KINDS, Split

ONCE = tuple(kind for kind in SPLIT_KINDS if kind != "set_out")
"""Splits that a person presses once at a burial."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat:
    """Rows that say the same: which split, at which burial, by whom, and their places in the list."""

    split: str
    burial: str | None
    searcher: str | None
    rows: tuple[int, ...]


def repeats_of(splits: Sequence[Split]) -> tuple[Repeat, ...]:
    """Return the splits of a run that occur more than once, in the order of their first row.

    Parameters
    ----------
    splits : sequence of Split
        Splits with names already turned into ids.

    Notes
    -----
    Two rows of one kind at one burial are a repeat unless they name two people, who may each have had a
    first signal. There is only one alarm for all. Observations and people's own splits may occur again;
    they are a repeat only if everything in the rows is the same.
    """
    alike: dict[tuple[str | None, ...], list[int]] = {}
    for i, row in enumerate(splits):
        if row.split in ONCE:
            alike.setdefault((row.split, row.burial), []).append(i)
        else:
            moment = str((row.time_unix_s, row.since_alarm_s))
            alike.setdefault((row.split, row.burial, row.searcher, moment, row.note), []).append(i)
    found = [one for rows in alike.values() for one in _apart(splits, rows)]
    return tuple(sorted(found, key=lambda one: one.rows))


def _apart(splits: Sequence[Split], rows: Sequence[int]) -> list[Repeat]:
    """The repeats among rows of one kind at one burial."""
    by: dict[str | None, list[int]] = {}
    for i in rows:
        by.setdefault(splits[i].searcher, []).append(i)
    first = splits[rows[0]]
    if first.split == "alarm" or None in by:
        groups = [(next((who for who in by if who is not None), None) if len(by) == 2 else None, list(rows))]
    else:
        groups = list(by.items())
    return [
        Repeat(split=first.split, burial=first.burial, searcher=who, rows=tuple(mine))
        for who, mine in groups
        if len(mine) > 1
    ]
