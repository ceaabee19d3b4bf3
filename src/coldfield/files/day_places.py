"""Where a set lies, as entered on the phone: by tape, by paces, as planned, in words."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from coldfield.files.drill_model import Azimuth, Part, Words

Distance = Annotated[float, Field(ge=0, le=1000)]
"""By tape, in plan, m."""


class AnchorDistance(Part):
    """The distance of a place from an anchor, by tape, in plan, m."""

    anchor: Words
    distance_m: Distance


class TapedPlace(Part):
    """By the distances from two anchors; `side` is seen from the first anchor towards the second."""

    way: Literal["tape"] = "tape"
    anchors: Annotated[list[AnchorDistance], Field(min_length=2, max_length=2)]
    side: Literal["left", "right"]


class PacedPlace(Part):
    """A number of paces from a named place, towards `towards_deg` clockwise from true north."""

    way: Literal["paced"] = "paced"
    start: Words
    paces: Annotated[float, Field(gt=0, le=2000)]
    towards_deg: Azimuth
    pace_m: Annotated[float, Field(gt=0, le=2)] = 0.75


class PlannedPlace(Part):
    """As planned."""

    way: Literal["plan"] = "plan"


class ToldPlace(Part):
    """In words."""

    way: Literal["words"] = "words"
    words: Words


Place = Annotated[TapedPlace | PacedPlace | PlannedPlace | ToldPlace, Field(discriminator="way")]
