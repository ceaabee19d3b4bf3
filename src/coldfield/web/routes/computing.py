"""Routes that compute at once: what is heard at a place."""

from __future__ import annotations

import json
from math import radians
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from coldfield.drill import Drill
from coldfield.files.drill_json import read_drill
from coldfield.files.drill_model import DrillPart, PointM
from coldfield.records.forms import Form
from coldfield.web.problems import documented


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


class ConstantAnswer(Answer):
    """One constant of the skills: spreads are deviations of its logarithm, of the logit of a share."""

    key: str
    words: str
    share: bool
    middles: dict[str, float]
    between: float
    within: float


class SkillsAnswer(Answer):
    """The table of skills, by the keys of a drill file; what `marking` true stands for."""

    constants: list[ConstantAnswer]
    shared: float
    most_spread: float
    typical_marking: float


def router() -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["computing"])

    @api.get("/skills", response_model=SkillsAnswer)
    def skills() -> dict[str, Any]:
        """Tell the table of skills: middles, and how people and runs differ."""
        from coldfield.app.rehearsals.skill_table import skill_table

        return skill_table()

    @api.post("/signal", response_model=SignalAnswer, responses=documented(404, 413, 422))
    def signal(asked: SignalRequest) -> dict[str, Any]:
        """Tell what a searcher hears of each burial at a place: what `coldfield signal --json` prints."""
        from coldfield.app.hearing.at_place import signal_at, signal_json

        signal = signal_at(
            read(asked.drill),
            (asked.at_m[0], asked.at_m[1]),
            height_m=asked.height_m,
            heading_rad=radians(asked.heading_deg),
            searcher=asked.searcher,
        )
        return signal_json(signal)

    return api
