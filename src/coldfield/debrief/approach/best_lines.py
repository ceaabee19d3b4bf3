"""The line that somebody who follows the direction would have walked."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, hypot, inf, sin, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon.field import WAVENUMBER_PER_M
from coldfield.beacon.formulas import FAR_HEIGHT_M, carry_height_m, field_but_for_phase, reading_m
from coldfield.beacon.hearing import Sources
from coldfield.beacon.receiver import antenna_factors, reference_moment_am2, threshold_a_per_m
from coldfield.debrief.snow import Snow, SurfaceAt
from coldfield.drill.searcher import Receiver

Floats = NDArray[np.float64]

STEP_M = 0.5
END_READING_M = 3.0
LONGEST_M = 300.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BestLine:
    """A line to follow, in plan, (k, 2), m, and its length on the snow."""

    line_m: Floats
    length_m: float


def best_line(
    sources: Sources,
    index: int,
    terrain: Snow,
    start_m: ArrayLike,
    receiver: Receiver,
    *,
    noise_rise_db: float = 0.0,
) -> BestLine | None:
    """Return the shorter of the two ways along a set's direction from a point, None if neither arrives.

    Parameters
    ----------
    sources, index, terrain, receiver, noise_rise_db
        As `coldfield.beacon.fluxline.walked_flux_line`, which this follows more coarsely and faster.
    start_m : array_like, shape (2,)
        Where the searcher turned, in plan.

    Notes
    -----
    Both ways are integrated by the midpoint rule in steps of 0.5 m in plan, with the carry height for the
    reading. They end at a reading of 3 m or at the closest approach. Lengths agree with the error-controlled
    walk to 1 % (``tests/debrief/approach/test_best_lines.py``), which is enough for positions known to 3 m.
    """
    walk = _Walk(sources, index, terrain, receiver, noise_rise_db)
    x, y = (float(v) for v in np.asarray(start_m, dtype=np.float64))
    here = walk.here(x, y, FAR_HEIGHT_M)
    if not here[2]:
        return None
    ways = [walk.follow(x, y, sense * here[0], sense * here[1]) for sense in (1.0, -1.0)]
    return min((way for way in ways if way is not None), key=lambda way: way.length_m, default=None)


class _Walk:
    """Uses plain numbers throughout, because a step needs one place at a time."""

    def __init__(
        self, sources: Sources, index: int, terrain: Snow, receiver: Receiver, noise_rise_db: float
    ) -> None:
        self.source = [float(v) for v in sources.point_m[index]]
        self.moment = [float(v) for v in sources.moment_am2[index]]
        self.surface = SurfaceAt(terrain)
        self.terrain = terrain
        factors = [float(f) for f in antenna_factors(receiver)]
        self.best, self.second = factors[0], factors[min(1, len(factors) - 1)]
        self.threshold = threshold_a_per_m(receiver, noise_rise_db)
        self.reference = reference_moment_am2(receiver)

    def here(self, x: float, y: float, height: float) -> tuple[float, float, bool, float, float]:
        """Return direction (east, north), whether there is one, reading, and carry height at a place."""
        reading = 0.0
        for _ in range(3):
            h = self._field(x, y, height)
            size = sqrt(sum(abs(c) ** 2 for c in h))
            reading = reading_m(self.reference, size)
            lower = carry_height_m(reading, FAR_HEIGHT_M)
            if abs(lower - height) < 1e-3:
                break
            height = lower
        azimuth = 0.5 * atan2(2.0 * (h[0] * h[1].conjugate()).real, abs(h[1]) ** 2 - abs(h[0]) ** 2)
        east, north = sin(azimuth), cos(azimuth)
        along = abs(h[0] * east + h[1] * north) / self.best
        across = abs(h[0] * north - h[1] * east) / self.second
        return east, north, hypot(along, across) >= self.threshold, reading, height

    def _field(self, x: float, y: float, height: float) -> tuple[complex, complex, complex]:
        z, normal = self.surface(x, y)
        dx, dy, dz = (p + height * n - s for p, n, s in zip((x, y, z), normal, self.source, strict=True))
        mx, my, mz = self.moment
        return field_but_for_phase(dx, dy, dz, mx, my, mz, WAVENUMBER_PER_M)

    def follow(self, x: float, y: float, east: float, north: float) -> BestLine | None:
        """Return the walk from a place, starting along (east, north); None if it does not arrive."""
        line = [(x, y)]
        height, before = FAR_HEIGHT_M, inf
        lowest, at, since = inf, 1, 0.0
        for _ in range(int(LONGEST_M / STEP_M)):
            half = 0.5 * STEP_M
            e, n, _, _, _ = self._along(x + half * east, y + half * north, height, east, north)
            x, y = x + STEP_M * e, y + STEP_M * n
            east, north, heard, reading, height = self._along(x, y, height, e, n)
            line.append((x, y))
            if reading <= END_READING_M:
                share = (before - END_READING_M) / (before - reading) if reading < before < inf else 1.0
                px, py = line[-2]
                line[-1] = (px + share * (x - px), py + share * (y - py))
                return self._described(line)
            before = reading
            lowest, at, since = (
                (reading, len(line), 0.0) if reading < lowest else (lowest, at, since + STEP_M)
            )
            if since >= 1.5 and lowest < 12.0:
                return self._described(line[:at])
            if not heard:
                return None
        return None

    def _along(
        self, x: float, y: float, height: float, east: float, north: float
    ) -> tuple[float, float, bool, float, float]:
        e, n, heard, reading, height = self.here(x, y, height)
        sense = -1.0 if e * east + n * north < 0.0 else 1.0
        return sense * e, sense * n, heard, reading, height

    def _described(self, line: list[tuple[float, float]]) -> BestLine:
        places = np.array(line)
        return BestLine(line_m=places, length_m=self.terrain.length_m(places))
