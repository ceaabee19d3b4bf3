"""The kinds of records: for each its table, its form, what it refers to, what belongs to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlalchemy import Table

from coldfield.errors import UnknownRecord
from coldfield.records import forms, schema


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kind:
    """One kind of record.

    `refers` names the kind each reference points to, `owns` the kinds (by their reference to this
    one) that are deleted and brought back together with a record, `sort` the column of its lists,
    `heavy` the fields left out of lists, `words` the columns in which words are looked for,
    `narrows` further columns that a list can be narrowed by.
    """

    name: str
    one: str
    table: Table
    form: type[forms.Form]
    sort: str
    descending: bool = False
    refers: Mapping[str, str] = field(default_factory=dict)
    owns: tuple[tuple[str, str], ...] = ()
    heavy: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    narrows: tuple[str, ...] = ()


_ALL = (
    Kind(
        name="people",
        one="person",
        table=schema.person,
        form=forms.Person,
        sort="name",
        words=("name", "contact", "notes"),
    ),
    Kind(
        name="kit",
        one="piece of kit",
        table=schema.kit,
        form=forms.Kit,
        sort="label",
        refers={"owner_id": "people"},
        words=("label", "notes"),
        narrows=("kind", "state"),
    ),
    Kind(
        name="sites",
        one="site",
        table=schema.site,
        form=forms.Site,
        sort="name",
        heavy=("document",),
        words=("name", "notes"),
    ),
    Kind(
        name="courses",
        one="course",
        table=schema.course,
        form=forms.Course,
        sort="created_utc",
        descending=True,
        words=("name", "notes"),
        owns=(("days", "course_id"), ("participants", "course_id")),
    ),
    Kind(
        name="days",
        one="day",
        table=schema.day,
        form=forms.CourseDay,
        sort="date",
        refers={"course_id": "courses", "site_id": "sites"},
    ),
    Kind(
        name="participants",
        one="participant",
        table=schema.participant,
        form=forms.Participant,
        sort="id",
        refers={"course_id": "courses", "person_id": "people"},
    ),
    Kind(
        name="drills",
        one="drill",
        table=schema.drill,
        form=forms.DrillRecord,
        sort="changed_utc",
        descending=True,
        refers={"site_id": "sites"},
        owns=(("grids", "drill_id"),),
        heavy=("document",),
        words=("name", "notes"),
    ),
    Kind(
        name="grids",
        one="elevation grid",
        table=schema.grid,
        form=forms.ElevationGrid,
        sort="created_utc",
        descending=True,
        refers={"drill_id": "drills"},
    ),
    Kind(
        name="runs",
        one="run",
        table=schema.run,
        form=forms.Run,
        sort="held_utc",
        descending=True,
        refers={"drill_id": "drills", "day_id": "days"},
        owns=(
            ("splits", "run_id"),
            ("observations", "run_id"),
            ("tracks", "run_id"),
            ("debriefs", "run_id"),
            ("hidings", "run_id"),
            ("day_items", "run_id"),
        ),
        heavy=("as_buried",),
        words=("name", "notes", "held_utc"),
    ),
    Kind(
        name="splits",
        one="split",
        table=schema.split,
        form=forms.SplitRecord,
        sort="created_utc",
        refers={"run_id": "runs"},
    ),
    Kind(
        name="observations",
        one="observation",
        table=schema.observation,
        form=forms.Observation,
        sort="created_utc",
        refers={"run_id": "runs"},
    ),
    Kind(
        name="tracks",
        one="track",
        table=schema.track,
        form=forms.Track,
        sort="created_utc",
        refers={"run_id": "runs", "person_id": "people"},
    ),
    Kind(
        name="debriefs",
        one="debrief",
        table=schema.debrief,
        form=forms.DebriefRecord,
        sort="created_utc",
        descending=True,
        refers={"run_id": "runs"},
        heavy=("made_by", "document"),
    ),
    Kind(
        name="phones",
        one="phone",
        table=schema.phone,
        form=forms.Phone,
        sort="created_utc",
    ),
    Kind(
        name="group_checks",
        one="group check",
        table=schema.group_check,
        form=forms.GroupCheck,
        sort="begun_utc",
        descending=True,
        refers={"run_id": "runs"},
        owns=(("day_items", "check_id"),),
        words=("leader",),
    ),
    Kind(
        name="hidings",
        one="hidden set",
        table=schema.hiding,
        form=forms.Hiding,
        sort="created_utc",
        refers={"run_id": "runs"},
    ),
    Kind(
        name="day_items",
        one="item of a day",
        table=schema.day_item,
        form=forms.DayItem,
        sort="created_utc",
        refers={"run_id": "runs", "check_id": "group_checks"},
        narrows=("of",),
    ),
)

KINDS: Mapping[str, Kind] = {kind.name: kind for kind in _ALL}
"""All kinds by name, each after those it refers to: the order of an import."""


def kind_of(name: str) -> Kind:
    """Return the kind of that name.

    Raises
    ------
    UnknownRecord
        If there is none.
    """
    if name not in KINDS:
        raise UnknownRecord(f"no kind of record is called '{name}'; there are: {', '.join(KINDS)}")
    return KINDS[name]
