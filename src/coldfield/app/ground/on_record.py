"""The ground of a drill on record: keep its elevation grid, draw it and screen the site."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from hashlib import sha256
from threading import Lock
from typing import Any

import numpy as np

from coldfield.app.answers import fields_of, places
from coldfield.app.ground.answers import ContourLines, Contours, GroundUnderAnswer, SlopeCells
from coldfield.app.ground.grid import ground_answer, ground_for, lay_grid
from coldfield.app.jobs.stages import Progress, not_told
from coldfield.drill.drill import Drill
from coldfield.drill.grid import Floats, Grid
from coldfield.drill.ground_lines import contours_round, window_round
from coldfield.drill.site import Site
from coldfield.errors import BadInput
from coldfield.files.drill_json import drill_from
from coldfield.files.elevation import ElevationFile, read_elevation
from coldfield.message import message, size
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.kinds.grids import MOST_GRID_BYTES
from coldfield.records.store import Put, Record, Store

MOST_CELLS = 160
"""The most columns and rows of slope in an answer. Setting."""

LIGHT = np.array([-0.5, 0.5, np.sqrt(0.5)])
"""Direction of the light for hill shading: north-west, 45 degrees up, as is usual on maps."""


def keep_grid(
    database: Database,
    grid_id: str,
    content: bytes,
    told: Mapping[str, Any],
    *,
    progress: Progress = not_told,
) -> Put:
    """Keep the file of an elevation grid with a drill, after checking that it covers the drill's site.

    Parameters
    ----------
    database : Database
        The records.
    grid_id : str
        An id made by the caller.
    content : bytes
        The file: ESRI ASCII or GeoTIFF.
    told : mapping
        `drill_id`, `file_name` and `crs` (None: as named in the file).
    progress : callable
        Called before and after the file is read. If it raises, nothing is kept.

    Raises
    ------
    BadInput
        If the file cannot be used, or does not cover the site.
    UnknownRecord
        If there is no such drill.
    Conflict
        If another grid has this id.
    """
    if len(content) > MOST_GRID_BYTES:
        too_large = message("fault.larger_than_kilometres", most=size(MOST_GRID_BYTES))
        raise BadInput(too_large, str(told["file_name"]))
    digest = sha256(content).hexdigest()
    form = read_form("grids", {**told, "size_bytes": len(content), "sha256": digest})
    fields = form.fields()
    with database.read() as connection:
        drill = Store(connection, database.stamp()).get("drills", fields["drill_id"])
    progress(0, 0, "reading")
    lay(fields, content, stored_site(drill))
    progress(0, 0, "keeping")
    with database.write() as connection:
        store = Store(connection, database.stamp())
        put = store.put("grids", grid_id, fields, based_on=None)
        store.keep_file("grids", grid_id, content)
        return put


def stored_site(drill: Record) -> Site:
    """Return the site of a stored drill."""
    return drill_from(drill["document"]).site


def lay(told: Mapping[str, Any], content: bytes, site: Site) -> Grid:
    """Return a kept grid in the frame of a site; the files read last are cached."""
    file = _read(told["sha256"], content, told["file_name"])
    crs = told["crs"] or file.crs
    if crs is None:
        raise BadInput(message("fault.crs_not_told"), told["file_name"])
    return lay_grid(file, site, crs=crs, source=told["file_name"])


_READ: OrderedDict[str, ElevationFile] = OrderedDict()
_LOCK = Lock()


def _read(digest: str, content: bytes, source: str) -> ElevationFile:
    """Return the grid in a file; the last two are cached under their digests."""
    with _LOCK:
        file = _READ.get(digest) or read_elevation(content, source)
        _READ[digest] = file
        _READ.move_to_end(digest)
        while len(_READ) > 2:
            _READ.popitem(last=False)
    return file


def grid_file(database: Database, grid_id: str) -> tuple[Record, bytes]:
    """Return the record of an elevation grid, and its original file."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        return store.get("grids", grid_id), store.file("grids", grid_id)


def ground_under(database: Database, grid_id: str, drill: Drill) -> GroundUnderAnswer:
    """Return the screening of a drill's site on a kept grid, with contours and slope to draw.

    Parameters
    ----------
    database : Database
        The records.
    grid_id : str
        The grid.
    drill : Drill
        The current drill.

    Raises
    ------
    BadInput
        If the grid no longer covers the site.
    UnknownRecord
        If there is no such grid.
    """
    told, content = grid_file(database, grid_id)
    grid = lay(told, content, drill.site)
    screen = ground_for(drill, grid)
    low, high = window_round(drill.site)
    steep = screen.steep_m
    seen = steep[((steep >= low) & (steep <= high)).all(axis=1)]
    step_m, lines = contours_round(grid, drill.site)
    return GroundUnderAnswer(
        **fields_of(ground_answer(screen, grid, drill)),
        file_name=told["file_name"],
        contours=Contours(
            step_m=step_m,
            lines=tuple(
                ContourLines(elevation_m=value, lines_m=tuple(places(line) for line in found))
                for value, found in lines.items()
            ),
        ),
        slope=_slope(grid, low, high),
        steep_m=places(np.round(seen, 1)),
        steep_cells=len(steep),
    )


def _slope(grid: Grid, low: Floats, high: Floats) -> SlopeCells:
    """Return slope, whole degrees, and light at the centres of square cells of the window."""
    cell = max(float((high - low).max()) / MOST_CELLS, min(grid.cell_m, 20.0))
    columns, rows = (int(n) for n in np.ceil((high - low) / cell))
    east = low[0] + (np.arange(columns) + 0.5) * cell
    north = low[1] + (np.arange(rows) + 0.5) * cell
    middles = np.stack(np.meshgrid(east, north), axis=-1)
    slope = np.degrees(grid.slope_at(middles))
    return SlopeCells(
        cell_m=cell,
        origin_m=(float(low[0]), float(low[1])),
        columns=columns,
        rows=rows,
        deg=_whole(slope),
        light_percent=_whole(100.0 * np.clip(grid.normal(middles) @ LIGHT, 0.0, 1.0)),
    )


def _whole(values: Floats) -> tuple[int, ...]:
    """Return whole numbers row by row, -1 for unknown values."""
    found = np.where(np.isfinite(values), np.round(values), -1.0).astype(int)
    return tuple(found.ravel().tolist())
