"""The group's own figures for a rehearsal, in place of the settings."""

from __future__ import annotations

from pathlib import Path

from coldfield.app.coaching.group_runs import GroupRuns, course_called, group_runs
from coldfield.app.coaching.learning import learn_from
from coldfield.app.jobs.stages import Steps
from coldfield.app.records.data import data_at, reading
from coldfield.coaching.learn import Learned
from coldfield.coaching.own import Own
from coldfield.drill.drill import Drill
from coldfield.errors import Refused
from coldfield.message import message


def own_of(drill: Drill, data: Path | None, database: str | None, course: str | None, *, seed: int) -> Own:
    """Return the group's own figures from the records, or those of one course.

    Raises
    ------
    UnknownRecord
        If there are no records, or no such course.
    Refused
        If the runs show too little.
    """
    with reading(data_at(data, database)) as records:
        group = group_runs(records, None if course is None else course_called(records, course))
    return own_for(drill, group, seed=seed)


def own_for(drill: Drill, group: GroupRuns, *, seed: int, progress: Steps | None = None) -> Own:
    """Return a group's own figures for a drill; searchers and people are matched by name.

    Raises
    ------
    Refused
        If the runs show too little.
    """
    return with_people(drill, group, learned_enough(group, progress=progress), seed=seed)


def learned_enough(group: GroupRuns, *, progress: Steps | None = None) -> Learned:
    """Return what a group's runs show.

    Raises
    ------
    Refused
        If they show too little.
    """
    if progress is not None:
        progress(0, 1)
    learned = learn_from(group, progress=progress)
    if not learned.told_enough:
        raise Refused(message("coach.too_little", n=learned.runs))
    return learned


def with_people(drill: Drill, group: GroupRuns, learned: Learned, *, seed: int) -> Own:
    """Return what was learned about the people of a drill; an unknown name counts as any group member."""
    by_name = {name.casefold(): person for person, name in group.people.items()}
    people = {s.id: person for s in drill.searchers if (person := by_name.get(s.name.casefold())) is not None}
    return Own(learned=learned, people=people, seed=seed)
