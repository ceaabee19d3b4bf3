"""The chance that a set on the ground is heard from a drill's lanes, and the gain of a second pass."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from coldfield.app.drills.picture_files import write_picture
from coldfield.app.strips.answers import DetectionAnswer, RasterAnswer, SecondPassAnswer
from coldfield.app.strips.lanes import lanes_for
from coldfield.drill.drill import Drill
from coldfield.drill.grid import Grid
from coldfield.errors import OutOfModel
from coldfield.message import message, number
from coldfield.search.detection.raster import Detection, detection
from coldfield.search.lanes.plan import LanePlan

NOTES = (
    message("note.detection_each"),
    message("note.detection_left_out"),
)


LEAST_WIDTH_M = 5.0
"""In narrower strips everything is heard, as far as this model goes. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoPasses:
    """The chances after a first pass, and after a second one with strips half as wide."""

    first: Detection
    second_plan: LanePlan
    both: Detection


def passes(
    drill: Drill, plan: LanePlan, *, searchers: int | None = None, grid: Grid | None = None
) -> TwoPasses:
    """Return the chance that a set is heard at least once from a plan's lanes, and after a second pass.

    The second pass has strips half as wide, planned again for the same people.

    Raises
    ------
    OutOfModel
        If the strips are narrower than 5 m, which would take long and show nothing.
    """
    if plan.strip_width_m < LEAST_WIDTH_M:
        raise OutOfModel(message("fault.chances_from", least=number(LEAST_WIDTH_M, 0)))
    first = detection(drill, plan.lanes, terrain=grid)
    second_plan = lanes_for(drill, searchers=searchers, strip_width_m=plan.strip_width_m / 2.0, grid=grid)
    second = detection(drill, second_plan.lanes, terrain=grid)
    return TwoPasses(first=first, second_plan=second_plan, both=first.with_second(second))


def detection_answer(told: TwoPasses) -> DetectionAnswer:
    """Return the chances after the first pass and after both."""
    first, both = told.first, told.both
    return DetectionAnswer(
        mean_probability=first.mean_probability,
        least_probability=first.least_probability,
        least_heard_m=first.least_m,
        raster=_raster(first),
        second_pass=SecondPassAnswer(
            strip_width_m=told.second_plan.strip_width_m,
            seconds=told.second_plan.seconds,
            mean_probability=both.mean_probability,
            least_probability=both.least_probability,
            least_heard_m=both.least_m,
        ),
        notes=NOTES,
    )


def _raster(chances: Detection) -> RasterAnswer:
    (west, south), step = chances.place_m.min(axis=0), chances.spacing_m
    cell = np.round((chances.place_m - (west, south)) / step).astype(int)
    columns, rows = (cell.max(axis=0) + 1).tolist()
    cells: list[int | None] = [None] * (columns * rows)
    for (column, row), chance in zip(cell.tolist(), chances.probability.tolist(), strict=True):
        cells[row * columns + column] = round(1000 * chance)
    return RasterAnswer(
        west_m=float(west) - 0.5 * step,
        south_m=float(south) - 0.5 * step,
        step_m=step,
        columns=columns,
        rows=rows,
        per_mille=tuple(cells),
    )


def draw_chances(
    drill: Drill, plan: LanePlan, chances: Detection, path: Path | str, *, grid: Grid | None = None
) -> None:
    """Write the lane plan over the chance that a set is heard, as .svg or .png.

    Raises
    ------
    BadInput
        If the file's name has another extension, or the file cannot be written.
    """
    from coldfield.pictures.lane_plan import chance_figure

    names = {s.id: s.name for s in drill.searchers}
    write_picture(path, lambda: chance_figure(drill.site, plan, chances, names=names, grid=grid))
