"""The drill file key by key: types, ranges and defaults, as pydantic reads them.

Angles are in degrees here and field strengths in µA/m or nA/m, as people write them; the objects
use SI and radians. Consistency between keys is checked in `drill_json`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    create_model,
)

from coldfield.drill.burial import Transmitter
from coldfield.drill.searcher import DEFAULT_ANTENNAS, DEFAULT_REFERENCE_A_PER_M
from coldfield.drill.skills import MOST_SPREAD, SKILLS, TABLE, Constant
from coldfield.files.faults import refusal
from coldfield.files.wording import Wording
from coldfield.message import message

FORMAT = "coldfield-drill/1"
MOST_CORNERS = 5000
MOST_BURIALS = 20
MOST_HOLES = 200
MOST_ANCHORS = 50
MOST_SEARCHERS = 60


class Part(BaseModel):
    """One object of the drill file: no unknown keys, no text in place of numbers, no NaN."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


Coordinate = Annotated[float, Field(ge=-5000, le=5000)]
PointM = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]
RingM = Annotated[list[PointM], Field(min_length=3, max_length=MOST_CORNERS)]
LINE = r"^[^\x00-\x1f\x7f]*[^\s\x00-\x1f\x7f][^\x00-\x1f\x7f]*$"
"""One line of text that is not blank."""

_SHORT = Field(min_length=1, max_length=40, pattern=LINE)
_LONG = Field(min_length=1, max_length=200, pattern=LINE)
SearcherId = Annotated[str, _SHORT, Wording.SEARCHER]
BurialId = Annotated[str, _SHORT, Wording.BURIAL]
ShortWords = Annotated[str, _SHORT, Wording.WORDS]
Words = Annotated[str, _LONG, Wording.WORDS]
Name = Annotated[str, _LONG, Wording.NAME]
Azimuth = Annotated[float, Field(ge=-360, le=360)]

_USUAL = Transmitter()
"""The signal of a set if a drill file does not give it."""


class OriginPart(Part):
    """The zero point of the site frame (WGS84)."""

    latitude_deg: Annotated[float, Field(ge=-89, le=89)]
    longitude_deg: Annotated[float, Field(ge=-180, le=180)]
    elevation_m: Annotated[float, Field(ge=-500, le=9000)]


class AnchorPart(Part):
    """A marked place whose position is known."""

    name: Words
    position_m: PointM


class SitePart(Part):
    """The ground. Positions are distances from the origin to the east and north, in plan, in metres."""

    origin: OriginPart
    boundary_m: RingM
    entry_m: PointM
    holes_m: Annotated[list[RingM], Field(max_length=MOST_HOLES)] = []
    slope_deg: Annotated[float, Field(ge=0, le=60)] = 0.0
    aspect_deg: Azimuth = 0.0
    declination_deg: Annotated[float, Field(ge=-180, le=180)] | None = None
    last_seen_m: PointM | None = None
    anchors: Annotated[list[AnchorPart], Field(max_length=MOST_ANCHORS)] = []


class AntennaPart(Part):
    """The direction of a transmitting antenna: clockwise from true north, tilt up from horizontal."""

    azimuth_deg: Azimuth
    tilt_deg: Annotated[float, Field(ge=-90, le=90)]


class TransmitterPart(Part):
    """A set that transmits: its field on the axis at 10 m (peak) and its keying."""

    field_at_10m_ua_per_m: Annotated[float, Field(gt=0, le=10)] = _USUAL.field_at_10m_a_per_m * 1e6
    period_s: Annotated[float, Field(ge=0.4, le=3)] = _USUAL.period_s
    pulse_s: Annotated[float, Field(ge=0.01, le=1)] = _USUAL.pulse_s
    phase_s: Annotated[float, Field(ge=0, le=3)] = _USUAL.phase_s


class BurialPart(Part):
    """One buried person or sack; `transmitter` null is a burial without a set."""

    id: BurialId
    position_m: PointM
    depth_m: Annotated[float, Field(gt=0, le=10)]
    antenna: AntennaPart | None = None
    transmitter: TransmitterPart | None
    body_azimuth_deg: Azimuth | None = None
    outline: Literal["person", "sack"] = "person"
    set: ShortWords | None = None


def _marking(value: Any, handler: ValidatorFunctionWrapHandler) -> Any:
    try:
        return handler(value)
    except ValidationError:
        raise refusal(message("fault.marking")) from None


Marking = Annotated[bool | Annotated[float, Field(ge=0, le=1)], WrapValidator(_marking)]
"""True: a typical marking function; false: none; or how often it works, as a share."""


class ReceiverPart(Part):
    """A set that searches; either `coaxial_range_m` or `threshold_na_per_m`."""

    coaxial_range_m: Annotated[float, Field(gt=0, le=150)] | None = None
    threshold_na_per_m: Annotated[float, Field(gt=0, le=100000)] | None = None
    vertical_range_m: Annotated[float, Field(gt=0, le=150)] | None = None
    reference_field_at_10m_ua_per_m: Annotated[float, Field(gt=0, le=10)] = DEFAULT_REFERENCE_A_PER_M * 1e6
    antennas: Annotated[int, Field(ge=1, le=3)] = DEFAULT_ANTENNAS
    antenna_factors: (
        Annotated[list[Annotated[float, Field(ge=1, le=1000)]], Field(min_length=1, max_length=3)] | None
    ) = None
    turning: bool = False
    marking: Marking = True


Deviation = Annotated[float, Field(ge=0, le=MOST_SPREAD)]


class SpreadPart(Part):
    """How one constant spreads: standard deviations of its natural logarithm (of the logit of a share).

    `between` is for people of the group, `within` for one person from run to run. The table supplies whatever
    is left out.
    """

    between: Deviation | None = None
    within: Deviation | None = None


def _constant(line: Constant) -> Any:
    if line.kind == "count":
        return Annotated[int, Field(ge=1, le=10)]
    return Annotated[float, Field(ge=0, le=1)] if line.kind == "share" else Annotated[float, Field(ge=0)]


def _skill_part() -> type[Part]:
    keys = {skill_key(line.name): line for line in TABLE}
    spreads: dict[str, Any] = {
        key: (SpreadPart | None, None) for key, line in keys.items() if line.kind != "count"
    }
    spread = create_model("SkillSpreadPart", __base__=Part, **spreads)
    own: dict[str, Any] = {key: (_constant(line) | None, None) for key, line in keys.items()}
    own |= {
        "like": (Literal[tuple(SKILLS)], "practised"),
        "spread": (spread | None, None),
        "shared": (Annotated[float, Field(ge=0, le=1)] | None, None),
    }
    return create_model(
        "SkillPart",
        __base__=Part,
        __doc__="A group's own figures over a named skill: middles, spreads, and the share of the spread "
        "between people that is one quickness in everything.",
        **own,
    )


def skill_key(field: str) -> str:
    """Return the drill file's key for a field of `Skill`: angles are degrees there."""
    return field.removesuffix("_rad") + "_deg" if field.endswith("_rad") else field


SkillPart = _skill_part()


class SearcherPart(Part):
    """One person of the searching party."""

    id: SearcherId
    name: Name
    skill: Literal["novice", "practised", "expert"] | SkillPart = "practised"  # type: ignore[valid-type]
    receiver: ReceiverPart
    probe_length_m: Annotated[float, Field(gt=0, le=6)] | None = 2.4
    probe: bool | None = None
    shovel: bool = True
    set: ShortWords | None = None


class ConditionsPart(Part):
    """The conditions of the day.

    If `strip_width_m` is null, the edge width of the group is used; if `lane_heading_deg` is null,
    the fastest heading. A heading is that of the lanes, clockwise from true north.
    """

    noise_rise_db: Annotated[float, Field(ge=0, le=60)] = 0.0
    snow_density_kg_m3: Annotated[float, Field(ge=50, le=917)] = 400.0
    travel: Literal["on foot", "on ski", "on snowshoe"] = "on foot"
    strip_width_m: Annotated[float, Field(gt=0, le=200)] | None = None
    burial_to_alarm_s: Annotated[float, Field(ge=0, le=86400)] = 60.0
    lane_heading_deg: Azimuth | None = None


class DrillPart(Part):
    """The whole drill file."""

    format: Literal["coldfield-drill/1"]
    name: Words
    site: SitePart
    burials: Annotated[list[BurialPart], Field(max_length=MOST_BURIALS)]
    searchers: Annotated[list[SearcherPart], Field(min_length=1, max_length=MOST_SEARCHERS)]
    conditions: ConditionsPart = ConditionsPart()
