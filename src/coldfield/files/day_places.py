"""Where a set lies, as it is told on the phone: by tape, by paces, by the plan, in words."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from coldfield.files.drill_model import Azimuth, Part, Words

Distance = Annotated[float, Field(ge=0, le=1000)]
"""By tape, in plan, m."""


class AnchorDistance(Part):
    """How far a place lies from an anchor, by tape, in plan, m."""

    anchor: Words
    distance_m: Distance


class TapedPlace(Part):
    """By the distances from two anchors; `side` is seen from the first anchor towards the second."""

    way: Literal["tape"] = "tape"
    anchors: Annotated[list[AnchorDistance], Field(min_length=2, max_length=2)]
    side: Literal["left", "right"]


class PacedPlace(Part):
    """So many paces from a named place, towards `towards_deg` clockwise from true north."""

    way: Literal["paced"] = "paced"
    start: Words
    paces: Annotated[float, Field(gt=0, le=2000)]
    towards_deg: Azimuth
    pace_m: Annotated[float, Field(gt=0, le=2)] = 0.75


class PlannedPlace(Part):
    """Where the plan says."""

    way: Literal["plan"] = "plan"


class ToldPlace(Part):
    """In words."""

    way: Literal["words"] = "words"
    words: Words


Place = Annotated[TapedPlace | PacedPlace | PlannedPlace | ToldPlace, Field(discriminator="way")]
