"""How one searcher's set responds to one pulse: the plain form, one number at a time.

Field, antennas, detection and carry height are written out here a second time, so that the player is
independent of the formulas that the compiled searcher model shares with the rest
(`coldfield.beacon.formulas`). The common phase of the field is left out, because it changes neither sizes
nor the ellipse. ``tests/rescue/test_player_receiver.py`` checks that the two agree.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import atan2, hypot, nan, pi, sqrt

import numpy as np

from coldfield.beacon.envelope_detection import TABLE_END, TABLE_STEP, noise_a_per_m, threshold_ratio
from coldfield.beacon.field import WAVENUMBER_PER_M
from coldfield.beacon.receiver import NEAREST_M, antenna_factors, reference_moment_am2, threshold_a_per_m
from coldfield.drill import Receiver

Vector = tuple[float, float, float]
Complex3 = tuple[complex, complex, complex]


def field_at(moment_am2: Vector, offset_m: Vector) -> Complex3:
    """Return the peak field without its common phase, A/m; nearer than 0.1 m it is that at 0.1 m."""
    r = sqrt(offset_m[0] ** 2 + offset_m[1] ** 2 + offset_m[2] ** 2)
    n = [c / r for c in offset_m] if r > 0.0 else [0.0, 0.0, 1.0]
    r = max(r, NEAREST_M)
    along = n[0] * moment_am2[0] + n[1] * moment_am2[1] + n[2] * moment_am2[2]
    kr = WAVENUMBER_PER_M * r
    near = complex(1.0, -kr)
    scale = 4.0 * pi * r**3
    x, y, z = (
        ((3.0 * n[i] * along - moment_am2[i]) * near + kr * kr * (moment_am2[i] - n[i] * along)) / scale
        for i in range(3)
    )
    return x, y, z


def carry_height_m(reading_m: float) -> float:
    """Return the carry height: 1.0 m, falling to 0.1 m between readings of 10 m and 3 m."""
    if reading_m >= 10.0:
        return 1.0
    return 0.1 if reading_m <= 3.0 else 0.1 + 0.9 * (reading_m - 3.0) / 7.0


@lru_cache(maxsize=3)
def detection_table(antennas: int) -> list[float]:
    """Return the chance that one of this many antennas detects a pulse, by signal over noise.

    Marcum's Q as a non-central chi-square with two degrees of freedom.
    """
    # Here: the compiled program, whose answers most people wait for, does without it.
    from scipy.special import chndtr

    signal = np.linspace(0.0, TABLE_END, round(TABLE_END / TABLE_STEP) + 1)
    found: list[float] = (1.0 - chndtr(threshold_ratio(antennas) ** 2, 2.0, signal**2)).tolist()
    return found


@dataclass(frozen=True, slots=True)
class Pulse:
    """One pulse at one set: its amplitude, noise, chance of detection, reading and direction.

    `angle_rad` is measured from the first level axis towards the second; it is nan if the horizontal
    part is below the threshold. `level_a_per_m` is the amplitude of that part.
    """

    amplitude_a_per_m: float
    chance: float
    reading_m: float
    angle_rad: float
    level_a_per_m: float


class TodaysReceiver:
    """A receiver under today's noise."""

    def __init__(self, receiver: Receiver, noise_rise_db: float, *, definite: bool) -> None:
        self.factors = [float(f) for f in antenna_factors(receiver)]
        self.turning = receiver.turning
        self.threshold_a_per_m = threshold_a_per_m(receiver, noise_rise_db)
        self.noise_a_per_m = noise_a_per_m(self.threshold_a_per_m, receiver.antennas)
        self.definite = definite
        self._reference_am2 = reference_moment_am2(receiver)
        self._table = detection_table(receiver.antennas)

    def pulse(self, field: Complex3, heading: tuple[float, float]) -> Pulse:
        """Return how the set responds to a field given along two level axes and upright.

        `heading` is the unit vector along which the holder walks, in the same two level axes.
        """
        east, north, up = field
        seen = self._antennas(east, north, up, heading)
        amplitude = sqrt(sum(a * a for a in seen))
        magnitude = sqrt(abs(east) ** 2 + abs(north) ** 2 + abs(up) ** 2)
        level = self._level(east, north, heading)
        angle = nan
        if level >= self.threshold_a_per_m:
            twice = atan2(2.0 * (east * north.conjugate()).real, abs(east) ** 2 - abs(north) ** 2)
            angle = 0.5 * twice
        return Pulse(amplitude, self._chance(seen, amplitude), self._reading(magnitude), angle, level)

    def amplitude(self, field: Complex3, heading: tuple[float, float]) -> float:
        """Return the amplitude that the set compares with its threshold, A/m."""
        return sqrt(sum(a * a for a in self._antennas(*field, heading)))

    def _antennas(
        self, east: complex, north: complex, up: complex, heading: tuple[float, float]
    ) -> list[float]:
        if self.turning:
            total = 0.5 * (abs(east) ** 2 + abs(north) ** 2 + abs(up) ** 2)
            gap = 0.5 * abs(east * east + north * north + up * up)
            best = sorted(self.factors)
            sizes = [sqrt(total + gap), sqrt(max(total - gap, 0.0)), 0.0]
            return [size / factor for size, factor in zip(sizes, best, strict=False)]
        along = abs(east * heading[0] + north * heading[1])
        across = abs(north * heading[0] - east * heading[1])
        return [size / factor for size, factor in zip((along, across, abs(up)), self.factors, strict=False)]

    def _level(self, east: complex, north: complex, heading: tuple[float, float]) -> float:
        along = abs(east * heading[0] + north * heading[1]) / self.factors[0]
        across = abs(north * heading[0] - east * heading[1]) / self.factors[min(1, len(self.factors) - 1)]
        return hypot(along, across)

    def _chance(self, seen: list[float], amplitude: float) -> float:
        if self.definite:
            return 1.0 if amplitude >= self.threshold_a_per_m else 0.0
        if amplitude < self.noise_a_per_m:
            return 0.0
        missed = 1.0
        for size in seen:
            missed *= 1.0 - self._lone_chance(size / self.noise_a_per_m)
        return 1.0 - missed

    def _lone_chance(self, signal_to_noise: float) -> float:
        if signal_to_noise >= TABLE_END:
            return self._table[-1]
        place = signal_to_noise / TABLE_STEP
        k = min(int(place), len(self._table) - 2)
        below, above = self._table[k], self._table[k + 1]
        return below + (above - below) * (place - k)

    def _reading(self, magnitude: float) -> float:
        raw = (self._reference_am2 / (2.0 * pi * magnitude)) ** (1.0 / 3.0)
        return float(round(raw)) if raw >= 10.0 else round(raw * 10.0) / 10.0
