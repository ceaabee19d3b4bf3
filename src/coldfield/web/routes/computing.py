"""Routes with immediate answers: the table of skills, what is heard at a place."""

from __future__ import annotations

from math import radians
from typing import Annotated

from fastapi import APIRouter
from pydantic import Field

from coldfield.app.hearing.answers import SignalAnswer
from coldfield.app.rehearsals.answers import SkillsAnswer
from coldfield.drill import Drill
from coldfield.files.drill_json import drill_of_part
from coldfield.files.drill_model import DrillPart, PointM
from coldfield.records.forms import Form
from coldfield.web.problems import documented


class OnDrill(Form):
    """A request about a drill, given as a drill file."""

    drill: DrillPart

    def read(self, *, anywhere: bool = False) -> Drill:
        """Return the drill; raise `BadInput` if it cannot be used.

        With `anywhere`, burials may lie outside the ground, as they do while being dragged.
        """
        return drill_of_part(self.drill, anywhere=anywhere)


class SignalRequest(OnDrill):
    """Where a searcher stands."""

    at_m: PointM
    height_m: Annotated[float, Field(ge=0, le=10)] | None = None
    heading_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    searcher: Annotated[str, Field(min_length=1, max_length=200)] | None = None


def router() -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["computing"])

    @api.get("/skills")
    def skills() -> SkillsAnswer:
        """Return the table of skills: medians, and the spreads between people and runs."""
        from coldfield.app.rehearsals.skill_table import skill_table

        return skill_table()

    @api.post("/signal", responses=documented(404, 413, 422))
    def signal(asked: SignalRequest) -> SignalAnswer:
        """Return what a searcher hears of each burial at a place, as `coldfield signal --json` prints it."""
        from coldfield.app.hearing.at_place import signal_at

        return signal_at(
            asked.read(),
            (asked.at_m[0], asked.at_m[1]),
            height_m=asked.height_m,
            heading_rad=radians(asked.heading_deg),
            searcher=asked.searcher,
        )

    return api
