"""Routes for signal search: the strip width, and who walks where."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from fastapi import APIRouter, Response
from pydantic import Field

from coldfield.app.strips.answers import StripsAnswer, StripWidthAnswer
from coldfield.drill import Drill
from coldfield.files.drill_json import drill_of_part
from coldfield.files.drill_model import DrillPart
from coldfield.records.forms import Form
from coldfield.web.problems import documented
from coldfield.web.routes.computing import OnDrill

if TYPE_CHECKING:
    from coldfield.app.strips.width import Question
    from coldfield.search.lanes.plan import LanePlan

MOST_SEARCHERS = 200
MEDIA_TYPE = {"gpx": "application/gpx+xml", "geojson": "application/geo+json"}


class StripsRequest(OnDrill):
    """Searchers, width and division of the ground; `chance` adds the chance that a set is heard."""

    searchers: Annotated[int, Field(ge=1, le=MOST_SEARCHERS)] | None = None
    strip_width_m: Annotated[float, Field(ge=1, le=200)] | None = None
    sharing: Literal["least time", "own sectors", "line abreast"] = "least time"
    chance: bool = False

    def plan(self, drill: Drill) -> LanePlan:
        """Return the lanes of the drill for this request."""
        from coldfield.app.strips.lanes import lanes_for

        return lanes_for(
            drill, searchers=self.searchers, strip_width_m=self.strip_width_m, sharing=self.sharing
        )


class StripWidthRequest(Form):
    """A group's drill, typed values, or both; typed values replace the group's."""

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
        from coldfield.app.strips.width import Question

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


def router() -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["computing"])

    @api.post("/strip-width", responses=documented(413, 422))
    def strip_width(asked: StripWidthRequest) -> StripWidthAnswer:
        """Compute how wide to search today, as `coldfield strip-width --json` prints it."""
        from coldfield.app.strips.width import strip_widths
        from coldfield.app.strips.width_answer import strip_width_answer

        drill = None if asked.drill is None else drill_of_part(asked.drill)
        return strip_width_answer(strip_widths(asked.question(), drill))

    @api.post("/strips", responses=documented(413, 422))
    def strips(asked: StripsRequest) -> StripsAnswer:
        """Plan who walks where in signal search, as `coldfield strips --json` prints it."""
        from coldfield.app.strips.lanes import strips_answer

        drill = asked.read()
        plan = asked.plan(drill)
        if not asked.chance:
            return strips_answer(plan)
        from coldfield.app.strips.detection import detection_answer, passes

        heard = passes(drill, plan, searchers=asked.searchers)
        return strips_answer(plan, detection=detection_answer(heard))

    @api.post(
        "/strips/{kind}",
        response_class=Response,
        responses={
            200: {
                "content": {
                    MEDIA_TYPE["gpx"]: {"schema": {"type": "string"}},
                    MEDIA_TYPE["geojson"]: {"schema": {"type": "object"}},
                }
            },
            **documented(413, 422),
        },
    )
    def strips_file(kind: Literal["gpx", "geojson"], asked: StripsRequest) -> Response:
        """Return the lanes as a file, as `coldfield strips --gpx` and `--geojson` write it.

        Refused if the drill has no map position yet.
        """
        from coldfield.app.strips.lanes import lanes_text
        from coldfield.drill.frame import SiteFrame

        drill = asked.read()
        SiteFrame(drill.site.origin).refuse_nowhere()
        return Response(lanes_text(drill, asked.plan(drill), kind), media_type=MEDIA_TYPE[kind])

    return api
