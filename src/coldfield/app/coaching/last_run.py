"""The last run of a drill's group, for comparison with a harder drill."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from coldfield.app.coaching.group_runs import GroupRuns, group_runs
from coldfield.app.records.data import data_at, reading
from coldfield.drill.drill import Drill
from coldfield.errors import UnknownRecord

SAME_GROUP = 0.5
"""The share of a drill's people who must have taken part for a run to count as that group's. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LastRun:
    """A held run: its drill as buried, who searched, and when the last airway was free.

    `people` maps searchers of the drill to people. `airway_s` is in s since the alarm, None if some airway
    was not timed. `held_on` is the date of the run, ISO 8601, UTC.
    """

    name: str
    held_on: str
    drill: Drill
    people: Mapping[str, str]
    airway_s: float | None


def last_run(group: GroupRuns, drill: Drill) -> LastRun | None:
    """Return the latest run in which at least half of a drill's people took part; None if there is none.

    People are recognised by their names, which a run takes from the people on record.
    """
    names = _names(drill)
    same = [run for run in group.runs if len(names & _names(run.drill)) >= SAME_GROUP * max(1, len(names))]
    if not same:
        return None
    run = max(same, key=lambda one: (group.held[one.id], one.id))
    airways = [run.moments.get(b.id, {}).get("airway") for b in run.drill.burials]
    timed = [one.t_s for one in airways if one is not None]
    return LastRun(
        name=run.name,
        held_on=group.held[run.id][:10],
        drill=run.drill,
        people=run.people,
        airway_s=max(timed) if timed and len(timed) == len(airways) else None,
    )


def last_run_at(drill: Drill, data: Path | None, database: str | None) -> LastRun | None:
    """Return the last run of a drill's group on record; None if there is none, or there are no records."""
    try:
        with reading(data_at(data, database)) as records:
            return last_run(group_runs(records), drill)
    except UnknownRecord:
        return None


def _names(drill: Drill) -> set[str]:
    return {s.name.casefold() for s in drill.searchers}
