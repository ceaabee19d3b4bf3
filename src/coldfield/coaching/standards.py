"""Who meets a standard, and who is due."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from coldfield.coaching.timed import Moment, TimedRun

State = Literal["met", "due", "not met", "not tried"]

_OF_PHASES: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "signal": ((), ("turn", "first_signal")),
    "coarse": (("turn", "first_signal"), ("fine_start", "within_10_m")),
    "fine": (("fine_start", "within_10_m"), ("lowest_reading",)),
    "probe": (("lowest_reading",), ("probe_strike",)),
    "dig": (("probe_strike",), ("airway",)),
    "strike": ((), ("probe_strike",)),
    "airway": ((), ("airway",)),
}
"""Moments between which each time is measured, the best start first; from the alarm if there is none."""

OF_ALL = ("dig", "airway", "all")
"""Standards that everybody in a run meets together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """A time, s; the least number of burials and the least depth for which it counts; days of validity."""

    id: str
    name: str
    what: str
    most_s: float
    least_burials: int = 1
    least_depth_m: float = 0.0
    valid_days: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One person's result for one standard.

    `seconds`, `run` and `held` are from the newest run that met it, otherwise from the newest try. `due` is
    the day on which it has to be met again, or None if never or if it was not met.
    """

    standard: Standard
    person: str
    state: State
    seconds: float | None = None
    run: str | None = None
    held: date | None = None
    due: date | None = None


def held_to(
    standard: Standard,
    runs: Sequence[TimedRun],
    held: Mapping[str, date],
    people: Sequence[str],
    *,
    today: date,
) -> list[Held]:
    """Return each person's result for a standard, in the order of `people`."""
    tries: dict[str, list[tuple[date, float, str]]] = {person: [] for person in people}
    for run in runs:
        for seconds, who in _tries(standard, run):
            for person in who:
                if person in tries:
                    tries[person].append((held[run.id], seconds, run.id))
    return [_standing(standard, person, tries[person], today) for person in people]


def _standing(standard: Standard, person: str, tries: Sequence[tuple[date, float, str]], today: date) -> Held:
    if not tries:
        return Held(standard=standard, person=person, state="not tried")
    met = [one for one in tries if one[1] <= standard.most_s]
    when, seconds, run = max(met or tries, key=lambda one: (one[0], -one[1]))
    due = None
    state: State = "met" if met else "not met"
    if met and standard.valid_days is not None:
        due = when + timedelta(days=standard.valid_days)
        state = "due" if due <= today else "met"
    return Held(standard=standard, person=person, state=state, seconds=seconds, run=run, held=when, due=due)


def _tries(standard: Standard, run: TimedRun) -> Iterator[tuple[float, tuple[str, ...]]]:
    """Yield each time of a run that counts for a standard, and the people for whom it counts."""
    if len(run.drill.burials) < standard.least_burials:
        return
    everybody = tuple(run.people.values())
    deep = [b.id for b in run.drill.burials if b.depth_m >= standard.least_depth_m]
    if standard.what == "all":
        last = [run.moments.get(b.id, {}).get("airway") for b in run.drill.burials]
        told = [moment.t_s for moment in last if moment is not None]
        if deep and len(told) == len(last):
            yield max(told), everybody
        return
    for burial in deep:
        moments = run.moments.get(burial, {})
        begins, ends = _OF_PHASES[standard.what]
        begin, end = _first(moments, begins), _first(moments, ends)
        if end is None or (begins and begin is None):
            continue
        seconds = end.t_s - (begin.t_s if begin is not None else 0.0)
        finder = _finder(moments, end)
        who = everybody if standard.what in OF_ALL else tuple(_person(run, finder))
        yield max(seconds, 0.0), who


def _first(moments: Mapping[str, Moment], names: Sequence[str]) -> Moment | None:
    return next((moments[name] for name in names if name in moments), None)


def _finder(moments: Mapping[str, Moment], end: Moment) -> str | None:
    strike = moments.get("probe_strike")
    return end.searcher or (strike.searcher if strike is not None else None)


def _person(run: TimedRun, searcher: str | None) -> Iterator[str]:
    if searcher is not None and searcher in run.people:
        yield run.people[searcher]
