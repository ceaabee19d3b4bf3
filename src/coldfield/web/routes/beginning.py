"""Routes to begin a drill: on a square, on a boundary, from a drill file, or from the demo."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Request
from pydantic import Field

from coldfield.app.demo.demo import demo_drill
from coldfield.app.drills.new import drill_on_boundary, drill_on_square
from coldfield.files.boundary import MOST_BYTES
from coldfield.files.drill_json import read_drill, write_drill
from coldfield.files.drill_model import DrillPart
from coldfield.files.json_text import decode_text, parse_json
from coldfield.records.forms import Form, Label, Line
from coldfield.web.problems import documented
from coldfield.web.routes.ground import A_FILE, FileName


class NewDrillRequest(Form):
    """The start of a drill; `file_text` is a polygon in GeoJSON, or a track or route in GPX.

    Without a file the ground is a level square of `side_m`, with the entry in the middle of its south side.
    """

    name: Line
    searchers: Annotated[int, Field(ge=1, le=60)] = 2
    side_m: Annotated[float, Field(ge=10, le=500)] = 60.0
    file_name: Label = "boundary"
    file_text: Annotated[str, Field(min_length=1, max_length=MOST_BYTES)] | None = None


def router() -> APIRouter:
    """Return the routes."""
    api = APIRouter(prefix="/api", tags=["computing"])

    @api.post(
        "/new-drill",
        response_model=DrillPart,
        response_model_exclude_unset=True,
        responses=documented(413, 422),
    )
    def begin_drill(request: NewDrillRequest) -> Any:
        """Return a new drill without burials as a drill file. It is not kept."""
        if request.file_text is None:
            drill = drill_on_square(name=request.name, side_m=request.side_m, searchers=request.searchers)
        else:
            drill = drill_on_boundary(
                request.file_text.encode(errors="replace"),
                request.file_name,
                name=request.name,
                searchers=request.searchers,
            )
        return json.loads(write_drill(drill))

    @api.get("/demo-drill", response_model=DrillPart, response_model_exclude_unset=True)
    def drill_of_demo() -> Any:
        """Return the demo's invented drill as a drill file, to experiment with. It is not kept."""
        return json.loads(write_drill(demo_drill()))

    @api.post(
        "/drill-file",
        response_model=DrillPart,
        response_model_exclude_unset=True,
        responses=documented(413, 422),
        openapi_extra=A_FILE,
    )
    async def read_drill_file(request: Request, file_name: FileName) -> Any:
        """Read a drill file, or return all its faults with their places; the body is the file.

        It is not kept.
        """
        text = decode_text(await request.body(), file_name)
        read_drill(text, file_name)
        return parse_json(text, file_name)

    return api
