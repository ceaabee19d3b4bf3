"""Routes that compute at once: what is heard, how wide, who walks where."""

from __future__ import annotations

import json
from math import radians
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from coldfield.drill import Drill
from coldfield.files.drill_json import read_drill
from coldfield.files.drill_model import DrillPart, PointM
from coldfield.records.forms import Form
from coldfield.web.problems import documented

if TYPE_CHECKING:
    from coldfield.app.strip_width import Question

MOST_SEARCHERS = 200


class OnDrill(Form):
    """A request about a drill, given as a drill file."""

    drill: DrillPart


def read(part: DrillPart) -> Drill:
    """Return the drill of a request; raise `BadInput` where it cannot be used."""
    return read_drill(json.dumps(part.model_dump(exclude_unset=True)))


class SignalRequest(OnDrill):
    """Where a searcher stands."""

    at_m: PointM
    height_m: Annotated[float, Field(ge=0, le=10)] | None = None
    heading_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    searcher: Annotated[str, Field(min_length=1, max_length=200)] | None = None


class StripsRequest(OnDrill):
    """How many search, how wide."""

    searchers: Annotated[int, Field(ge=1, le=MOST_SEARCHERS)] | None = None
    strip_width_m: Annotated[float, Field(ge=1, le=200)] | None = None


class StripWidthRequest(Form):
    """A group's drill, or typed figures, or both: typed ones take the place of the group's."""

    drill: DrillPart | None = None
    field_at_10m_ua_per_m: Annotated[float, Field(gt=0, le=10)] | None = None
    threshold_na_per_m: Annotated[float, Field(gt=0, le=100_000)] | None = None
    coaxial_range_m: Annotated[float, Field(gt=0, le=150)] | None = None
    vertical_range_m: Annotated[float, Field(gt=0, le=150)] | None = None
    reference_field_at_10m_ua_per_m: Annotated[float, Field(gt=0, le=10)] | None = None
    antennas: Annotated[int, Field(ge=1, le=3)] | None = None
    antenna_factors: (
        Annotated[list[Annotated[float, Field(ge=1, le=1000)]], Field(min_length=1, max_length=3)] | None
    ) = None
    noise_rise_db: Annotated[float, Field(ge=0, le=60)] | None = None
    range_today_m: Annotated[float, Field(gt=0, le=150)] | None = None
    range_sd_m: Annotated[float, Field(ge=0, le=50)] | None = None
    pod: Annotated[float, Field(ge=0.5, le=0.999)] = 0.98
    widths_m: Annotated[list[Annotated[float, Field(ge=1, le=200)]], Field(max_length=20)] = Field(default=[])

    def question(self) -> Question:
        """Return the question in SI units."""
        from coldfield.app.strip_width import Question

        same = self.model_dump(
            include={"coaxial_range_m", "vertical_range_m", "antennas", "noise_rise_db", "range_today_m"}
            | {"range_sd_m", "pod"}
        )
        return Question(
            field_at_10m_a_per_m=_scaled(self.field_at_10m_ua_per_m, 1e-6),
            threshold_a_per_m=_scaled(self.threshold_na_per_m, 1e-9),
            reference_field_at_10m_a_per_m=_scaled(self.reference_field_at_10m_ua_per_m, 1e-6),
            antenna_factors=None if self.antenna_factors is None else tuple(self.antenna_factors),
            widths_m=tuple(self.widths_m),
            **same,
        )


def _scaled(value: float | None, unit: float) -> float | None:
    return None if value is None else value * unit


class Answer(BaseModel):
    """What a command prints with --json; further keys may come."""

    model_config = ConfigDict(extra="allow")


class HeardAnswer(Answer):
    """One burial as heard; null for a burial without a set."""

    id: str
    distance_m: float | None
    field_a_per_m: list[list[float]] | None
    magnitude_a_per_m: float | None
    reading_m: float | None
    direction_deg: float | None
    audible: bool | None
    audible_probability: float | None


class SignalAnswer(Answer):
    """What the searcher's receiver hears."""

    searcher: str
    at_m: list[float]
    height_m: float
    burials: list[HeardAnswer]


class LaneAnswer(Answer):
    """One searcher's lane; the length on the snow, the time with the way from the entry."""

    searcher: str
    line_m: list[list[float]]
    length_m: float
    seconds: float


class StripsAnswer(Answer):
    """The ground shared among the searchers."""

    strip_width_m: float
    heading_deg: float
    lanes: list[LaneAnswer]
    covered_fraction: float
    seconds: float
    seconds_lower_bound: float


class ChanceAnswer(Answer):
    """Chances at one width."""

    width_m: float
    worst_point_probability: float
    mean_probability: float


class StripWidthAnswer(Answer):
    """How wide to search today, by three methods."""

    edge_width_m: float
    timed_width_m: float
    sweep_width_m: float
    coaxial_range_m: float
    coplanar_range_m: float
    quiet_coaxial_range_m: float
    pod: float
    widths: list[ChanceAnswer]


def router() -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["computing"])

    @api.post("/signal", response_model=SignalAnswer, responses=documented(404, 413, 422))
    def signal(asked: SignalRequest) -> dict[str, Any]:
        """Tell what a searcher hears of each burial at a place: what `coldfield signal --json` prints."""
        from coldfield.app.hearing import signal_at, signal_json

        signal = signal_at(
            read(asked.drill),
            (asked.at_m[0], asked.at_m[1]),
            height_m=asked.height_m,
            heading_rad=radians(asked.heading_deg),
            searcher=asked.searcher,
        )
        return signal_json(signal)

    @api.post("/strip-width", response_model=StripWidthAnswer, responses=documented(413, 422))
    def strip_width(asked: StripWidthRequest) -> dict[str, Any]:
        """Work out how wide to search today: what `coldfield strip-width --json` prints."""
        from coldfield.app.strip_width import strip_widths
        from coldfield.app.strip_width_words import strip_widths_json

        drill = None if asked.drill is None else read(asked.drill)
        return strip_widths_json(strip_widths(asked.question(), drill))

    @api.post("/strips", response_model=StripsAnswer, responses=documented(413, 422))
    def strips(asked: StripsRequest) -> dict[str, Any]:
        """Plan who walks where in signal search: what `coldfield strips --json` prints."""
        from coldfield.app.lanes import lanes_document, lanes_for

        plan = lanes_for(read(asked.drill), searchers=asked.searchers, strip_width_m=asked.strip_width_m)
        return lanes_document(plan)

    return api
