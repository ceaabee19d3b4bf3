"""The answers of the use cases on the ground. Field names are the keys of the JSON object."""

from __future__ import annotations

from dataclasses import dataclass

from coldfield.drill.ground_screen import Verdict
from coldfield.drill.site import Point
from coldfield.message import Message


@dataclass(frozen=True, slots=True, kw_only=True)
class SlopeAnswer:
    """An even slope and the direction it faces."""

    slope_deg: float
    aspect_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundAnswer:
    """What an elevation grid shows about a site.

    `plane` is the even slope fitted to the grid, `drill` the one in the drill; `cell_m` is the size of the
    grid's cells, `reaches_m` its west, south, east and north end in the site frame.
    """

    verdict: Verdict
    reasons: tuple[Message, ...]
    slope_max_deg: float
    slope_mean_deg: float
    plane: SlopeAnswer
    drill: SlopeAnswer
    cell_m: float
    reaches_m: tuple[float, float, float, float]
    notes: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ContourLines:
    """The lines of one height, m, in metres of the site."""

    elevation_m: float
    lines_m: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Contours:
    """Contour lines around the site."""

    step_m: float
    lines: tuple[ContourLines, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlopeCells:
    """The slope in square cells, whole degrees, row by row from the south-west; -1 if unknown.

    `light_percent` is how brightly each cell is lit by a light from the north-west, 45 degrees up.
    """

    cell_m: float
    origin_m: Point
    columns: int
    rows: int
    deg: tuple[int, ...]
    light_percent: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundUnderAnswer(GroundAnswer):
    """The same for a kept grid, with what is drawn of the ground around the site.

    `steep_m` holds places of visible steep ground whose reach includes the site; `steep_cells` is their
    number.
    """

    file_name: str
    contours: Contours
    slope: SlopeCells
    steep_m: tuple[Point, ...]
    steep_cells: int
