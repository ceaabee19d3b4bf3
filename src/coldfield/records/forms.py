"""What people fill in for each kind of record: fields, bounds and defaults, strictly.

These forms are what the API takes and gives, what an import accepts and what an export holds.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator

from coldfield.files import day_model, day_places
from coldfield.files.drill_model import LINE, BurialId, BurialPart, DrillPart, ShortWords, SitePart
from coldfield.files.drill_model import SearcherId as SearcherId
from coldfield.files.faults import ID_PATTERN
from coldfield.files.wording import Wording
from coldfield.records.debrief_form import a_debrief, a_making
from coldfield.records.moments import MOMENT_PATTERN, kept_moment, real_moment

MOST_SECONDS = 86_400.0
MOST_PROSE = 10_000
"""The longest notes, characters. Setting."""

MOST_TRACK_BYTES = 32_000_000
"""The largest track file that is kept, bytes. Setting."""

MOST_GRID_BYTES = 32_000_000
"""The largest file of an elevation grid that is kept, bytes. Setting."""


_DAY = r"^(19[7-9]\d|20\d\d)-\d\d-\d\d$"


def _real_date(value: str) -> str:
    try:
        date.fromisoformat(value)
    except ValueError:
        raise ValueError("must be a real date, such as 2026-02-14") from None
    if not re.match(_DAY, value):
        raise ValueError("must be a date from 1970 to 2099, such as 2026-02-14")
    return value


RecordId = Annotated[str, Field(pattern=ID_PATTERN), Wording.RECORD]
"""Made by whoever creates the record; a random UUID does well."""

_MAYBE_LINE = r"^[^\x00-\x1f\x7f]*$"
_PROSE = r"^[^\x00-\x08\x0b-\x1f\x7f]*$"
_SHA256 = r"^[0-9a-f]{64}$"
_FILE_NAME = r"^[^\x00-\x1f\x7f/\\]+$"
Line = Annotated[str, Field(min_length=1, max_length=200, pattern=LINE), Wording.WORDS]
Name = Annotated[str, Field(min_length=1, max_length=200, pattern=LINE), Wording.NAME]
MaybeLine = Annotated[str, Field(max_length=200, pattern=_MAYBE_LINE), Wording.WORDS]
Label = Annotated[str, Field(min_length=1, max_length=64, pattern=LINE), Wording.WORDS]
Prose = Annotated[str, Field(max_length=MOST_PROSE, pattern=_PROSE), Wording.WORDS]
FileName = Annotated[str, Field(min_length=1, max_length=120, pattern=_FILE_NAME), Wording.WORDS]
Sha256 = Annotated[str, Field(pattern=_SHA256), Wording.CODE]
Document = Annotated[dict[str, Any], Wording.ANYTHING]
Moment = Annotated[
    str,
    Field(json_schema_extra={"format": "date-time", "pattern": MOMENT_PATTERN}),
    Wording.CODE,
    AfterValidator(real_moment),
]
"""ISO 8601 with its zone; kept as UTC with milliseconds, and it is that which has to lie in 1970 to 2099."""

Stamp = Annotated[
    str,
    Field(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$"),
    Wording.CODE,
    AfterValidator(kept_moment),
]
"""A moment as it is kept: of creation, change, deletion."""

Day = Annotated[
    str,
    Field(json_schema_extra={"format": "date", "pattern": _DAY}),
    Wording.CODE,
    AfterValidator(_real_date),
]
UnixSeconds = Annotated[float, Field(ge=0, le=4_102_444_800)]
"""Seconds since 1970, UTC, up to the year 2100."""

SinceAlarm = Annotated[float, Field(ge=-MOST_SECONDS, le=MOST_SECONDS)]


ClockShift = Annotated[float, Field(ge=-1e9, le=1e9)]
"""Seconds added to a clock."""


class Form(BaseModel):
    """Fields of one kind of record: no unknown keys, no text for numbers, no NaN."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    def fields(self) -> dict[str, Any]:
        """Return plain values as they are stored; documents keep only the keys that were given."""
        value = self.model_dump()
        given = self.model_dump(exclude_unset=True)
        for name in ("document", "as_buried"):
            if name in value:
                value[name] = given.get(name)
        # A zero has no sign: one of the databases would not keep it.
        return {name: one + 0.0 if isinstance(one, float) else one for name, one in value.items()}


class Person(Form):
    """Somebody who takes part, teaches or owns kit."""

    name: Name
    contact: MaybeLine = ""
    notes: Prose = ""


class KitFigures(Form):
    """What was measured of a set: how strongly and how often it sends, how far it hears."""

    field_at_10m_ua_per_m: Annotated[float, Field(gt=0, le=10)] | None = None
    period_s: Annotated[float, Field(ge=0.4, le=3)] | None = None
    pulse_s: Annotated[float, Field(ge=0.01, le=1)] | None = None
    coaxial_range_m: Annotated[float, Field(gt=0, le=150)] | None = None


class Kit(Form):
    """A set, a probe or a shovel, by its stock number; `figures` are those of a set."""

    kind: Literal["set", "probe", "shovel"]
    label: Label
    owner_id: RecordId | None = None
    state: Literal["in use", "to check", "out of use"] = "in use"
    notes: Prose = ""
    figures: KitFigures | None = None


class Site(Form):
    """A practice ground; `document` is the key `site` of a drill file."""

    name: Line
    notes: Prose = ""
    document: SitePart | None = None


class Course(Form):
    """A course: its days and participants are records of their own."""

    name: Line
    notes: Prose = ""


class CourseDay(Form):
    """One day of a course."""

    course_id: RecordId
    date: Day
    site_id: RecordId | None = None
    notes: Prose = ""


class Participant(Form):
    """A person's part in a course."""

    course_id: RecordId
    person_id: RecordId
    role: Literal["participant", "instructor", "helper"] = "participant"


class DrillRecord(Form):
    """A planned drill; each change of `document`, a drill file, makes a new drill version.

    `checks` are the points of the check list that are ticked for the next time it is held.
    """

    document: DrillPart
    site_id: RecordId | None = None
    notes: Prose = ""
    checks: Annotated[list[RecordId], Field(max_length=100)] = []


class ElevationGrid(Form):
    """What is told of the elevation grid under a drill; the file itself is kept as it came.

    `crs` names its coordinate system where the file does not: 'site' for metres of the site frame, an
    'EPSG:...' code, or a WKT text.
    """

    drill_id: RecordId
    file_name: FileName
    crs: Annotated[str, Field(min_length=1, max_length=5000, pattern=_PROSE), Wording.WORDS] | None = None
    size_bytes: Annotated[int, Field(ge=1, le=MOST_GRID_BYTES)]
    sha256: Sha256


class RunSearcher(Form):
    """Who of the drill's searchers was which person; null: not told."""

    searcher: SearcherId
    person_id: RecordId | None = None


class StandardPart(Form):
    """A time people are held to: for a phase, or for 'strike' or 'airway' from the alarm on."""

    what: Literal["signal", "coarse", "fine", "probe", "dig", "strike", "airway"]
    most_s: Annotated[float, Field(gt=0, le=MOST_SECONDS)]


class Run(Form):
    """One performance of a drill, as that drill was then.

    `drill_version` null stands for the drill's newest version at the time the run is recorded, and
    `held_utc` null for that moment. `as_buried` are the burials as they were really hidden and dug
    out. `splits_shift_s` is added to the clock of the splits; null: it is looked for.
    """

    drill_id: RecordId
    drill_version: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    day_id: RecordId | None = None
    name: MaybeLine = ""
    held_utc: Moment | None = None
    simulated: bool = False
    notes: Prose = ""
    as_buried: Annotated[list[BurialPart], Field(max_length=20)] | None = None
    searchers: Annotated[list[RunSearcher], Field(max_length=60)] = []
    splits_shift_s: ClockShift | None = None
    standards: Annotated[list[StandardPart], Field(max_length=20)] = []


class SplitRecord(Form):
    """A timed moment of a run: either `time_unix_s` (UTC) or `since_alarm_s`."""

    run_id: RecordId
    split: Label
    searcher: SearcherId | None = None
    burial: BurialId | None = None
    time_unix_s: UnixSeconds | None = None
    since_alarm_s: SinceAlarm | None = None
    note: MaybeLine = ""

    @model_validator(mode="after")
    def _one_clock(self) -> SplitRecord:
        if (self.time_unix_s is None) == (self.since_alarm_s is None):
            raise ValueError("give either time_unix_s or since_alarm_s")
        return self


class Observation(Form):
    """A thing seen (or not) in a run that no track shows; `seen` null: noted without a yes or no."""

    run_id: RecordId
    about: Line
    seen: bool | None = None
    searcher: SearcherId | None = None
    burial: BurialId | None = None
    time_unix_s: UnixSeconds | None = None
    since_alarm_s: SinceAlarm | None = None
    note: MaybeLine = ""

    @model_validator(mode="after")
    def _one_clock(self) -> Observation:
        if self.time_unix_s is not None and self.since_alarm_s is not None:
            raise ValueError("give time_unix_s or since_alarm_s, not both")
        return self


class TrackTold(Form):
    """Whose a recorded track is, and how far its clock is off.

    `searcher` is whose the file is; where it holds several tracks, `parts` tells it of each in turn
    (null: nobody's, left out). `clock_shift_s` is added to its clock.
    """

    searcher: SearcherId | None = None
    parts: Annotated[list[SearcherId | None], Field(max_length=60)] = []
    clock_shift_s: ClockShift | None = None


class Track(TrackTold):
    """What is told of a recorded track; the file itself is kept as it came.

    `matched` says how its searcher is known: 'told', or guessed from the 'file name', the 'track
    name', or because nobody else was left ('left over'). A track that is told to be nobody's is left out.
    """

    run_id: RecordId
    person_id: RecordId | None = None
    matched: Literal["told", "file name", "track name", "left over"] | None = None
    file_name: FileName
    size_bytes: Annotated[int, Field(ge=1, le=MOST_TRACK_BYTES)]
    sha256: Sha256


class DebriefRecord(Form):
    """A debrief as it was made, and the versions of models and constants that made it."""

    run_id: RecordId
    made_by: Annotated[Document, AfterValidator(a_making)]
    document: Annotated[Document, AfterValidator(a_debrief)]

    @model_validator(mode="after")
    def _one_model(self) -> DebriefRecord:
        told, made = (part.get("model_version") for part in (self.document, self.made_by))
        if told != made:
            raise ValueError("made_by.model_version: must be the one of the document")
        return self


class Phone(Form):
    """A phone that kept time in the snow; `keeper` is who had it."""

    name: MaybeLine = ""
    keeper: MaybeLine = ""


class CheckedSet(Form):
    """What was found of one person's set at one stage of a group check; `look_at`: what to look at."""

    stage: Literal["receives", "transmits", "leader"]
    person: SearcherId
    name: Line
    set: ShortWords | None = None
    battery_percent: Annotated[int, Field(ge=0, le=100)] | None = None
    errors: bool | None = None
    receives: bool | None = None
    transmits: bool | None = None
    reading_m: Annotated[float, Field(ge=0, le=200)] | None = None
    look_at: Annotated[list[day_model.LookAt], Field(max_length=5)] = []
    by: MaybeLine = ""
    words: MaybeLine = ""
    time_unix_s: UnixSeconds | None = None


class GroupCheck(Form):
    """A group check: who checked whom, when, and what was found; `extent` null: its beginning is missing.

    `run_id` is the run it was made before. `not_checked` are people who were left out, said so.
    """

    run_id: RecordId | None = None
    extent: Literal["full", "simple"] | None = None
    leader: MaybeLine = ""
    begun_utc: Moment
    ended_utc: Moment | None = None
    checked: Annotated[list[CheckedSet], Field(max_length=500)] = []
    not_checked: Annotated[list[SearcherId], Field(max_length=60)] = []


class Hiding(Form):
    """A set of a run as it was hidden, or as it was dug out; `out`: signed out of the stock by `by`.

    `transmits`: whether it was seen to transmit just before it was hidden; null: not told.
    """

    run_id: RecordId
    when: Literal["hidden", "dug out"]
    burial: BurialId
    set: ShortWords | None = None
    transmits: bool | None = None
    place: day_places.Place | None = None
    depth_m: Annotated[float, Field(ge=0, le=10)] | None = None
    azimuth_deg: Annotated[float, Field(ge=-360, le=360)] | None = None
    tilt_deg: Annotated[float, Field(ge=-90, le=90)] | None = None
    by: MaybeLine = ""
    out: bool = False
    time_unix_s: UnixSeconds | None = None


class DayItem(Form):
    """One item that a phone wrote in the snow: `told` are its `kind` and that kind's own keys.

    `of` is the run or check as the phone calls it. It belongs to the run `run_id` or the group check
    `check_id` of these records.
    """

    run_id: RecordId | None = None
    check_id: RecordId | None = None
    of: RecordId
    phone: RecordId
    n: Annotated[int, Field(ge=1, le=1_000_000)]
    told: Document

    @model_validator(mode="after")
    def _an_item(self) -> DayItem:
        if (self.run_id is None) == (self.check_id is None):
            raise ValueError("give either run_id or check_id")
        kind = self.told.get("kind")
        form = day_model.ITEMS.get(kind) if isinstance(kind, str) else None
        if form is None:
            raise ValueError(f"told.kind: must be one of {', '.join(day_model.ITEMS)}")
        stamp = {"id": "item", "of": self.of, "phone": self.phone, "n": self.n}
        try:
            form.model_validate({**self.told, **stamp})
        except ValidationError as error:
            first = error.errors()[0]
            where = ".".join(map(str, first["loc"]))
            raise ValueError(f"told.{where}: {first['msg'][:200]}") from None
        return self
