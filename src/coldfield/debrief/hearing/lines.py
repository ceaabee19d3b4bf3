"""Lines of equal reading, and lines where a set is just heard, for the plan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.formulas import FAR_HEIGHT_M
from coldfield.beacon.hearing import Sources, hear
from coldfield.beacon.receiver import raw_reading_m, threshold_a_per_m
from coldfield.debrief.snow import Snow
from coldfield.drill.searcher import Receiver
from coldfield.drill.site import Site

Floats = NDArray[np.float64]

LEVELS_M = (5.0, 10.0, 20.0, 30.0, 40.0, 50.0)
MARGIN_M = 15.0
MOST_ACROSS = 110


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HearingLines:
    """Lines (k, 2) in plan of one set: where the reading is `reading_m`, or (None) where it is just heard."""

    burial: str
    reading_m: float | None
    lines_m: tuple[Floats, ...]


def hearing_lines(
    site: Site, sources: Sources, receiver: Receiver, terrain: Snow, *, noise_rise_db: float = 0.0
) -> tuple[HearingLines, ...]:
    """Return, for each set, the lines of its readings and the line where it is just heard.

    Parameters
    ----------
    site : Site
        The lines extend 15 m beyond the box of its boundary.
    sources : Sources
        The transmitting sets.
    receiver : Receiver
        Held 1.0 m above the snow, heading north.
    terrain : Plane or GridSnow
        The snow.
    noise_rise_db : float
        Today's noise.

    Notes
    -----
    Computed on a grid of at most 110 points across with linear interpolation. Within a few metres of a set
    the grid is too coarse, so no lines below 5 m are drawn.
    """
    import contourpy

    corners = np.array(site.boundary_m)
    low, high = corners.min(axis=0) - MARGIN_M, corners.max(axis=0) + MARGIN_M
    step = max(1.0, float((high - low).max()) / MOST_ACROSS)
    xs, ys = (np.arange(a, b + step, step) for a, b in zip(low, high, strict=True))
    gx, gy = np.meshgrid(xs, ys)
    if not sources.ids:
        return ()
    point = terrain.at(np.stack([gx, gy], axis=-1), np.full(gx.shape, FAR_HEIGHT_M))
    heard = hear(sources, receiver, point, noise_rise_db=noise_rise_db)
    threshold = threshold_a_per_m(receiver, noise_rise_db)
    reading = raw_reading_m(receiver, heard.magnitude_a_per_m)
    found = []
    for k, burial in enumerate(sources.ids):
        margin = np.log(heard.amplitude_a_per_m[..., k] / threshold)
        shown = np.where(margin >= 0.0, reading[..., k], np.nan)
        of_reading = contourpy.contour_generator(xs, ys, shown)
        for level in LEVELS_M:
            lines = tuple(np.asarray(line) for line in of_reading.lines(level) if len(line) > 2)
            if lines:
                found.append(HearingLines(burial=burial, reading_m=level, lines_m=lines))
        edge = contourpy.contour_generator(xs, ys, margin).lines(0.0)
        found.append(
            HearingLines(
                burial=burial,
                reading_m=None,
                lines_m=tuple(np.asarray(line) for line in edge if len(line) > 2),
            )
        )
    return tuple(found)


def weakest(receivers: dict[str, Receiver], noise_rise_db: float = 0.0) -> str | None:
    """Return the id of the searcher whose receiver needs the strongest field; the first of equals."""
    if not receivers:
        return None
    need = {who: threshold_a_per_m(r, noise_rise_db) for who, r in receivers.items()}
    return max(need, key=lambda who: need[who])
