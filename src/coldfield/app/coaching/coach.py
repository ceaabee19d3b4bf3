"""Everything a group's runs show, in one job: what was learned, progress, and what to practise next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import UTC, date, datetime

from coldfield.app.coaching.answers import (
    CoachAnswer,
    GroupPractice,
    HeldAnswer,
    PersonPractice,
    PracticeAnswer,
    Progress,
    ProgressAnswer,
    RunPaceAnswer,
    StandardAnswer,
    TrendAnswer,
)
from coldfield.app.coaching.group_runs import GroupRuns, group_runs
from coldfield.app.coaching.learning import learn_from, learned_answer
from coldfield.app.coaching.own import with_people
from coldfield.app.jobs.stages import Progress as Told
from coldfield.app.jobs.stages import Stages, Steps
from coldfield.app.rehearsals.rehearse import rehearse_drill, worth_of_changes
from coldfield.coaching.learn import Learned
from coldfield.coaching.practise import PHASE_OF_CHANGE, PersonNeed, group_needs, person_need
from coldfield.coaching.progress import RunPace, paces, trend
from coldfield.coaching.standards import Held, Standard, held_to
from coldfield.coaching.why import PHASE_WORDS
from coldfield.drill.drill import Drill
from coldfield.errors import ColdfieldError
from coldfield.message import Message, message
from coldfield.records.database import Database
from coldfield.records.store import Store
from coldfield.rescue.worth import Worth

WORTH_RUNS, WORTH_DRILLS = 400, 2
"""Rehearsals per drill to find what helps most, and how many of the latest drills are used. Settings."""

LEARNING, PRACTISING = 60, 40


def coach_arguments(database: Database, course_id: str | None, today: str | None) -> dict[str, object]:
    """Return the arguments of the job 'coach'."""
    group = group_runs(database, course_id)
    with database.read() as connection:
        kept = Store(connection, database.stamp()).page("standards", limit=500)
    fields = ("id", "name", "what", "most_s", "least_burials", "least_depth_m", "valid_days")
    standards = tuple(Standard(**{key: one[key] for key in fields}) for one in kept)
    return {"group": group, "standards": standards, "today": today or database.stamp()[:10]}


def coach_work(*, group: GroupRuns, standards: Sequence[Standard], today: str, progress: Told) -> CoachAnswer:
    """Return what a group's runs show.

    Parameters
    ----------
    group : GroupRuns
        The runs, see `group_runs`.
    standards : sequence of Standard
        All standards on record.
    today : str
        The date for which standards are checked, ISO 8601.
    progress : callable
        Called with the stages 'learning' and 'practising'.
    """
    stages = Stages(progress, {"learning": LEARNING, "practising": PRACTISING})
    stages.at("learning")(0, 1)
    learned = learn_from(group, progress=stages.at("learning"))
    return CoachAnswer(
        today=today,
        learned=learned_answer(group, learned),
        progress=_progress(group, learned, date.fromisoformat(today)),
        standards=standards_held(group, standards, today),
        practice=_practice(group, learned, stages.at("practising")),
    )


def _held(group: GroupRuns) -> dict[str, datetime]:
    return {run: datetime.fromisoformat(held.replace("Z", "+00:00")) for run, held in group.held.items()}


def _progress(group: GroupRuns, learned: Learned, today: date) -> ProgressAnswer:
    who: list[str | None] = [None, *learned.people]
    return ProgressAnswer(of=tuple(_progress_of(group, learned, person, today) for person in who))


def _progress_of(group: GroupRuns, learned: Learned, person: str | None, today: date) -> Progress:
    held = _held(group)
    told = sorted(paces(learned, person), key=lambda one: held[one.run])
    days = {one.run: held[one.run].timestamp() / 86_400.0 for one in told}
    change = trend(told, days)
    names = {run.id: run.name for run in group.runs}
    practised = [held[run.id].date() for run in group.runs if person is None or person in run.people.values()]
    last = max(practised, default=None)
    return Progress(
        person=person,
        person_name=None if person is None else group.people.get(person, person),
        runs=tuple(_run(one, names[one.run], held[one.run]) for one in told),
        runs_in_all=len(practised),
        last_held=None if last is None else last.isoformat(),
        days_since=None if last is None else (today - last).days,
        trend=None if change is None else TrendAnswer(**asdict(change)),
    )


def _run(one: RunPace, name: str, held: datetime) -> RunPaceAnswer:
    return RunPaceAnswer(
        run_id=one.run,
        run=name,
        held_utc=held.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        times=one.times,
        low=one.low,
        high=one.high,
        pieces=one.pieces,
    )


def standards_held(
    group: GroupRuns, standards: Sequence[Standard], today: date | str
) -> tuple[StandardAnswer, ...]:
    """Return whether each person of a group meets each standard on a day (a date, or ISO 8601 text)."""
    today = date.fromisoformat(today) if isinstance(today, str) else today
    held = {run: moment.date() for run, moment in _held(group).items()}
    people = list(group.people)
    names = {run.id: run.name for run in group.runs}
    return tuple(
        StandardAnswer(
            standard_id=one.id,
            name=one.name,
            people=tuple(
                _held_answer(each, group.people, names)
                for each in held_to(one, group.runs, held, people, today=today)
            ),
        )
        for one in standards
    )


def _held_answer(each: Held, people: Mapping[str, str], runs: Mapping[str, str]) -> HeldAnswer:
    return HeldAnswer(
        person=each.person,
        person_name=people[each.person],
        state=each.state,
        seconds=each.seconds,
        run_id=each.run,
        run=None if each.run is None else runs[each.run],
        held=None if each.held is None else each.held.isoformat(),
        due=None if each.due is None else each.due.isoformat(),
    )


def _practice(group: GroupRuns, learned: Learned, steps: Steps) -> PracticeAnswer:
    needs = [person_need(learned, person) for person in learned.people]
    worth = _worth(group, learned, steps) if learned.told_enough else []
    return PracticeAnswer(
        group=tuple(
            GroupPractice(
                phase=one.phase,
                words=PHASE_WORDS[one.phase],
                gain_survivors=one.gain_survivors,
                gain_minutes=one.gain_minutes,
                exercise=one.exercise.practise,
                source=one.exercise.source,
                wish=one.exercise.wish,
            )
            for one in group_needs(worth)
        ),
        people=tuple(_person(one, group) for one in needs),
        told_enough=learned.told_enough,
    )


def _person(one: PersonNeed, group: GroupRuns) -> PersonPractice:
    words: Message = message("coach.person_too_little", n=one.runs)
    if one.phase is not None:
        words = PHASE_WORDS[one.phase]
    return PersonPractice(
        person=one.person,
        person_name=group.people.get(one.person, one.person),
        phase=one.phase,
        words=words,
        seconds=one.seconds,
        doubt_s=one.doubt_s,
        runs=one.runs,
        exercise=None if one.exercise is None else one.exercise.practise,
        source=None if one.exercise is None else one.exercise.source,
        wish=None if one.exercise is None else one.exercise.wish,
    )


def _worth(group: GroupRuns, learned: Learned, steps: Steps) -> list[tuple[Worth, ...]]:
    """Return the gain of each change in the group's latest distinct drills, with the group's own figures."""
    drills: dict[tuple[object, ...], Drill] = {}
    for run in reversed(group.runs):
        drills.setdefault((run.drill.site, run.drill.burials), run.drill)
    found = []
    for k, drill in enumerate(list(drills.values())[:WORTH_DRILLS]):
        own = with_people(drill, group, learned, seed=1)
        try:
            rehearsed = rehearse_drill(drill, runs=WORTH_RUNS, seed=1, workers=2, own=own, meanwhile=True)
            found.append(
                worth_of_changes(rehearsed, workers=2, meanwhile=True, only=frozenset(PHASE_OF_CHANGE))
            )
        except ColdfieldError:
            continue
        steps(k + 1, WORTH_DRILLS)
    return found
