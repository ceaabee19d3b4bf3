"""Answers for overviews: the first page, a course, a person; fields are the keys of the JSON."""

from __future__ import annotations

from dataclasses import dataclass, make_dataclass

from coldfield.records.kinds import KINDS
from coldfield.records.kinds.drills import GroundSketch

COUNTED = tuple(kind for kind in KINDS.values() if kind.counted)

Counts = make_dataclass(
    "Counts",
    [(kind.name, int) for kind in COUNTED],
    namespace={
        "__doc__": "How many records of each kind there are; 10,000 stands for that many or more.",
        "__module__": __name__,
    },
    frozen=True,
    slots=True,
    kw_only=True,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillSeen:
    """A drill with what a small picture of its ground needs; `checks` are the ticked items of its list."""

    id: str
    name: str
    changed_utc: str
    checks: tuple[str, ...]
    ground: GroundSketch


@dataclass(frozen=True, slots=True, kw_only=True)
class SearcherSeen:
    """Which person was which of a drill's searchers."""

    searcher: str
    person_id: str | None
    name: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSeen:
    """A run; `airway_clear_s` is from the alarm until the last airway was clear, null if unknown.

    `older_model`: its debrief comes from another model, so a comparison needs a note. `tracks` and `splits`
    are counts; `ground` is that of the drill's version that was run, null if no card shows it.
    """

    id: str
    name: str
    held_utc: str
    simulated: bool
    day_id: str | None
    drill_id: str
    drill: str
    searchers: tuple[SearcherSeen, ...]
    debrief_id: str | None
    older_model: bool
    airway_clear_s: float | None
    tracks: int
    splits: int
    ground: GroundSketch | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySeen:
    """A day of a course."""

    id: str
    version: int
    date: str
    notes: str
    course_id: str
    course: str
    site_id: str | None
    site: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingDay:
    """A day of a course that is still to come, with its drills.

    They are the drills of the runs on that day; if there are none, the drills on its ground.
    """

    day: DaySeen
    drills: tuple[DrillSeen, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseSeen:
    """A phase of a search, in the seconds of its debrief."""

    phase: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RibbonSeen:
    """What one person did in a run, from its newest debrief; `name` is '' if the person is unknown."""

    searcher: str
    name: str
    phases: tuple[PhaseSeen, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefSeen:
    """A run that was debriefed, with a ribbon for each person."""

    run: RunSeen
    ribbons: tuple[RibbonSeen, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KitSeen:
    """A piece of kit that needs a check."""

    id: str
    label: str
    kind: str
    notes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstLook:
    """What the first page shows.

    The `drills` changed last, the `runs` held last, those of them with a debrief, the `days` of
    courses from today on, and the first pieces of kit `to_check`. `demo_run` is the demo's run if
    it is in the records.
    """

    counts: Counts  # type: ignore[valid-type]
    drills: tuple[DrillSeen, ...]
    runs: tuple[RunSeen, ...]
    debriefs: tuple[DebriefSeen, ...]
    days: tuple[ComingDay, ...]
    to_check: tuple[KitSeen, ...]
    demo_run: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ParticipantSeen:
    """A person's part in a course, and the number of its runs in which they searched."""

    id: str
    version: int
    person_id: str
    name: str
    role: str
    runs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillRun:
    """A drill and how often it was run in a course."""

    id: str
    name: str
    runs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseSeen:
    """A course with its stamps."""

    id: str
    version: int
    created_utc: str
    changed_utc: str
    deletion_id: str | None
    name: str
    notes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseOverview:
    """Overview of a course; `more_runs`: only the newest 300 are listed, there are others.

    `drills` are those of the listed runs; `drills_ready`, by the ground's id, those for days without a run.
    """

    course: CourseSeen
    days: tuple[DaySeen, ...]
    participants: tuple[ParticipantSeen, ...]
    drills: tuple[DrillRun, ...]
    drills_ready: dict[str, tuple[DrillSeen, ...]]
    runs: tuple[RunSeen, ...]
    more_runs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnKit:
    """A piece of kit that belongs to a person."""

    id: str
    label: str
    kind: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseOfPerson:
    """A course in which a person takes part; `first_date` is null if it has no days."""

    id: str
    name: str
    role: str
    first_date: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonOverview:
    """Overview of a person: the number of runs in which they searched, their kit and courses."""

    runs: int
    kit: tuple[OwnKit, ...]
    courses: tuple[CourseOfPerson, ...]
