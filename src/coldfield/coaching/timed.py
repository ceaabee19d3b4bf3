"""The times of a recorded run: the intervals between the moments of each burial.

Any two successive moments make an interval, so whatever was pressed is used. A run with only a strike and an
airway gives an interval for digging, and one for everything before the strike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coldfield.drill import Drill
from coldfield.rescue.rehearsal import MOMENTS

ALARM = "alarm"
ORDER: tuple[str, ...] = (ALARM, *MOMENTS)
"""The moments of a burial in the order of a search."""

PRESSED_S = 1.0
"""Uncertainty of a pressed moment (one standard deviation), s. Setting."""

SLIP_S = 3.0
"""A moment up to this much before the previous one is a slip; beyond that it is left out, s. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """When something happened, s since the alarm, who did it (None: unknown), and its uncertainty."""

    t_s: float
    searcher: str | None = None
    unsure_s: float = PRESSED_S


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedRun:
    """One run of a group.

    Attributes
    ----------
    id, name : str
        Id of the record, and the name of the run.
    day : str
        Its date or any other key; runs of one day share snow and light.
    drill : Drill
        The drill as it was run, with the burials as really hidden.
    people : mapping of str to str
        Person by searcher; a missing searcher is unknown.
    moments : mapping of str to mapping of str to Moment
        By burial, then by name (of `ORDER`, without the alarm).
    end_s : float
        End of the run, s since the alarm; anything that had not happened by then took longer.
    """

    id: str
    name: str
    day: str
    drill: Drill
    people: Mapping[str, str]
    moments: Mapping[str, Mapping[str, Moment]]
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """From one moment of a burial to another, s; `ended` False: it lasted longer than `seconds`.

    `searcher` is the person who ended it, or None if that is unknown.
    """

    burial: str
    begin: str
    end: str
    seconds: float
    searcher: str | None
    ended: bool
    unsure_s: float


def intervals(run: TimedRun) -> list[Interval]:
    """Return the intervals of a run, burial by burial.

    Notes
    -----
    If no moment gives the airway of a burial, its interval lasted at least until the run's end; it is kept as
    not ended. If no burial of the run has a digging time, digging was not part of the run and is not counted.
    Nor is a burial without a set, which is found by a probe line.
    """
    dug = any("airway" in told for told in run.moments.values())
    found: list[Interval] = []
    for burial in run.drill.burials:
        if burial.transmitter is None:
            continue
        found += _of_burial(run, burial.id, last="airway" if dug else "probe_strike")
    return found


def _of_burial(run: TimedRun, burial: str, *, last: str) -> list[Interval]:
    told = run.moments.get(burial, {})
    before, at = ALARM, Moment(t_s=0.0, unsure_s=PRESSED_S)
    finder = _finder(told)
    found = []
    for name in MOMENTS:
        moment = told.get(name)
        if moment is None or moment.t_s < at.t_s - SLIP_S:
            continue
        found.append(
            Interval(
                burial=burial,
                begin=before,
                end=name,
                seconds=max(moment.t_s - at.t_s, 0.0),
                searcher=moment.searcher or (finder if name != "airway" else None),
                ended=True,
                unsure_s=(moment.unsure_s**2 + at.unsure_s**2) ** 0.5,
            )
        )
        before, at = name, moment
    if ORDER.index(before) < ORDER.index(last) and run.end_s > at.t_s:
        found.append(
            Interval(
                burial=burial,
                begin=before,
                end=last,
                seconds=run.end_s - at.t_s,
                searcher=finder,
                ended=False,
                unsure_s=PRESSED_S,
            )
        )
    return found


def _finder(told: Mapping[str, Moment]) -> str | None:
    """Return who came to a burial: the person named with the strike, or with the last moment before."""
    for name in reversed(MOMENTS[:-1]):
        if name in told and told[name].searcher is not None:
            return told[name].searcher
    return None
