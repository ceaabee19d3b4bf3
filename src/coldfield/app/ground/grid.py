"""Fit an elevation grid to a drill, and screen its site."""

from __future__ import annotations

from math import degrees
from pathlib import Path
from typing import Any

import numpy as np

from coldfield.app.drills.files import read_bytes, write_whole
from coldfield.app.drills.picture_files import write_picture
from coldfield.app.ground.answers import GroundAnswer, SlopeAnswer
from coldfield.drill.drill import Drill
from coldfield.drill.frame import SiteFrame
from coldfield.drill.grid import Grid
from coldfield.drill.ground_screen import GroundScreen, screened, site_places
from coldfield.drill.site import Site
from coldfield.errors import BadInput
from coldfield.files.contour_file import contours_geojson
from coldfield.files.elevation import MOST_BYTES, ElevationFile, Project, projection, read_elevation
from coldfield.message import Message, length, message, number

FARTHEST_M = 8000.0
"""Ground farther than this from the site is left out: to appear above 18 degrees from there, it would have
to be 2,600 m higher."""

_MOST_PLACES = 1500
_SOME_ROWS = 100
_SIDES = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])

NOTES = (
    message("note.screen_only"),
    message("note.screen_leaves_out"),
)


def load_grid(path: Path | str, drill: Drill, *, crs: str | None = None) -> Grid:
    """Return the elevation grid in a file, in the site frame of a drill.

    Parameters
    ----------
    path : path
        ESRI ASCII (with its .prj beside it, if any), or GeoTIFF.
    drill : Drill
        The drill whose site it covers.
    crs : str, optional
        The grid's coordinate system: 'site' for metres of the site frame, or a code like
        'EPSG:32633'. Default: the one named in the file.

    Raises
    ------
    BadInput
        If the file cannot be used, does not name its system, or does not cover the site.
    """
    source = str(path)
    file = read_elevation(read_bytes(path, most_bytes=MOST_BYTES + 1), source)
    return lay_grid(file, drill.site, crs=crs or file.crs or _beside(path), source=source)


def lay_grid(file: ElevationFile, site: Site, *, crs: str | None, source: str) -> Grid:
    """Return an elevation grid in the frame of a site.

    Parameters
    ----------
    file : ElevationFile
        The grid as read from its file.
    site : Site
        The site it covers.
    crs : str or None
        Its coordinate system, as for `load_grid`.
    source : str
        The file's name, put before each fault.

    Raises
    ------
    BadInput
        If its system is unknown, or it does not cover the site.
    """
    if crs is None:
        raise BadInput(message("fault.crs_not_told_command"), source)
    if crs.lower() == "site":
        grid = _near(file, site)
    else:
        grid = _in_site_frame(file, site, projection(crs, source), source)
    places = site_places(site)
    if grid.cell_m * _MOST_PLACES / 2 < np.abs(places - places.mean(axis=0)).max() < FARTHEST_M:
        raise BadInput(message("fault.cells_too_fine", cell=length(grid.cell_m, 2)), source)
    if not np.isfinite(grid.height_m(places)).all() or not np.isfinite(grid.slope_at(places)).all():
        raise BadInput(_not_covered(grid, places), source)
    return grid.fitted(places)


def _near(file: ElevationFile, site: Site) -> Grid:
    """Return the part of a grid in site metres that is within reach of the site; all if no part is."""
    middle = site_places(site).mean(axis=0)
    cell = float(max(file.x[1] - file.x[0], file.y[1] - file.y[0]))
    columns, rows = (
        np.flatnonzero(np.abs(axis - place) <= _reach_m(cell))
        for axis, place in zip((file.x, file.y), middle, strict=True)
    )
    if min(columns.size, rows.size) < 3:
        return Grid.over(file.x, file.y, file.height_m)
    east, north = slice(columns[0], columns[-1] + 1), slice(rows[0], rows[-1] + 1)
    return Grid.over(file.x[east], file.y[north], file.height_m[north, east].copy())


def _reach_m(cell_m: float) -> float:
    """Return how far from the middle of the site a grid is used, m, so that the net stays small enough."""
    return min(FARTHEST_M, cell_m * _MOST_PLACES / 2)


def _beside(path: Path | str) -> str | None:
    """Return the WKT of the .prj file beside an ESRI ASCII grid, if there is one."""
    prj = Path(path).with_suffix(".prj")
    if not prj.is_file():
        return None
    return read_bytes(prj, most_bytes=100_000).decode("utf-8", errors="replace").strip() or None


def _in_site_frame(file: ElevationFile, site: Site, project: Project, source: str) -> Grid:
    """Return the heights on a regular net in the site frame, as fine as the file's own cells."""
    own = Grid(east_m=file.x, north_m=file.y, elevation_m=file.height_m)
    frame = SiteFrame(site.origin)

    def heights(position_m: Any) -> Any:
        x, y = project(*frame.to_wgs84(position_m))
        return own.height_m(np.stack([x, y], axis=-1))

    middle = site_places(site).mean(axis=0)
    if not np.isfinite(heights(middle)):
        raise BadInput(_far_away(file, site, project), source)
    cell = _cell_m(file, middle, frame, project)
    reach = _reach_m(cell)
    east, north = (m + _known_stretch(heights, middle, reach, cell, axis=k) for k, m in enumerate(middle))
    found = np.empty((north.size, east.size))
    for first in range(0, north.size, _SOME_ROWS):
        some = slice(first, first + _SOME_ROWS)
        found[some] = heights(np.stack(np.meshgrid(east, north[some]), axis=-1))
    known = np.isfinite(found)
    rows, columns = np.flatnonzero(known.any(axis=1)), np.flatnonzero(known.any(axis=0))
    south, west = int(rows[0]), int(columns[0])
    kept = found[south : rows[-1] + 1, west : columns[-1] + 1]
    if min(kept.shape) < 3:
        raise BadInput(message("fault.few_cells_round_site"), source)
    return Grid.over(east[west:][: kept.shape[1]], north[south:][: kept.shape[0]], kept)


def _known_stretch(heights: Any, middle: Any, reach_m: float, cell_m: float, *, axis: int) -> Any:
    """Return offsets from the middle, one cell apart, as far to both sides as heights are known, m."""
    coarse = np.linspace(-reach_m, reach_m, 121)
    net = np.stack(np.meshgrid(coarse, coarse), axis=-1)
    known = np.isfinite(heights(middle + net)).any(axis=axis)
    span = coarse[1] - coarse[0]
    low = -reach_m if known[0] else coarse[known].min(initial=0.0) - span
    high = reach_m if known[-1] else coarse[known].max(initial=0.0) + span
    return np.arange(np.floor(low / cell_m), np.ceil(high / cell_m) + 1) * cell_m


def _cell_m(file: ElevationFile, middle: Any, frame: SiteFrame, project: Project) -> float:
    """Return the longer side of the file's cells on the ground around the site, m."""
    x, y = project(*frame.to_wgs84(middle + 10.0 * _SIDES))
    per_m = np.array([[x[0] - x[1], y[0] - y[1]], [x[2] - x[3], y[2] - y[3]]]) / 20.0
    sides = np.diag([file.x[1] - file.x[0], file.y[1] - file.y[0]]) @ np.linalg.inv(per_m)
    return float(np.linalg.norm(sides, axis=1).max())


def _far_away(file: ElevationFile, site: Site, project: Project) -> Message:
    if site.origin.nowhere:
        return message("fault.grid_under_nowhere")
    x, y = project(np.array(site.origin.latitude_rad), np.array(site.origin.longitude_rad))
    return message(
        "fault.grid_elsewhere",
        x=number(float(x)),
        y=number(float(y)),
        west=number(float(file.x[0])),
        south=number(float(file.y[0])),
        east=number(float(file.x[-1])),
        north=number(float(file.y[-1])),
    )


def _not_covered(grid: Grid, places: Any) -> Message:
    return message(
        "fault.grid_not_covering",
        n=int((~np.isfinite(grid.height_m(places))).sum()),
        places=len(places),
        west=number(float(grid.east_m[0]), 0),
        south=number(float(grid.north_m[0]), 0),
        east=number(float(grid.east_m[-1]), 0),
        north=number(float(grid.north_m[-1]), 0),
    )


def ground_for(drill: Drill, grid: Grid) -> GroundScreen:
    """Return the screen of a drill's site."""
    return screened(drill.site, grid)


def ground_answer(screen: GroundScreen, grid: Grid, drill: Drill) -> GroundAnswer:
    """Return a screen as `coldfield ground --json` prints it."""
    return GroundAnswer(
        verdict=screen.verdict,
        reasons=screen.reasons,
        slope_max_deg=degrees(screen.slope_max_rad),
        slope_mean_deg=degrees(screen.slope_mean_rad),
        plane=SlopeAnswer(slope_deg=degrees(grid.mean.slope_rad), aspect_deg=degrees(grid.mean.aspect_rad)),
        drill=SlopeAnswer(slope_deg=degrees(drill.site.slope_rad), aspect_deg=degrees(drill.site.aspect_rad)),
        cell_m=grid.cell_m,
        reaches_m=(
            float(grid.east_m[0]),
            float(grid.north_m[0]),
            float(grid.east_m[-1]),
            float(grid.north_m[-1]),
        ),
        notes=NOTES,
    )


def draw_ground_map(drill: Drill, grid: Grid, screen: GroundScreen, path: Path | str) -> None:
    """Write the map of the ground as .svg or .png.

    Raises
    ------
    BadInput
        If the file's name has another extension, or the file cannot be written.
    """
    from coldfield.pictures.ground_map import ground_figure

    write_picture(path, lambda: ground_figure(drill.site, grid, screen))


def write_contours(drill: Drill, grid: Grid, path: Path | str, *, step_m: float = 10.0) -> None:
    """Write contour lines every `step_m` metres as GeoJSON.

    Raises
    ------
    BadInput
        If the step is below 0.5 m, or the file cannot be written.
    """
    if not (np.isfinite(step_m) and step_m >= 0.5):
        raise BadInput(
            message("fault.contour_step", least=length(0.5), found=number(step_m)).at("contour_step_m")
        )
    frame = SiteFrame(drill.site.origin)
    write_whole(path, contours_geojson(grid.contours(step_m), frame).encode())
