"""The line that a searcher walks when following the direction, and the true lines of the field."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, hypot, pi, sin, sqrt
from typing import Literal, Protocol, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon.field import WAVENUMBER_PER_M
from coldfield.beacon.formulas import (
    CARRY_ROUNDS,
    CARRY_SETTLED,
    FAR_HEIGHT_M,
    carry_height_m,
    field_but_for_phase,
    reading_m,
)
from coldfield.beacon.hearing import SnowSurface, Sources
from coldfield.beacon.receiver import (
    antenna_factors,
    combined_amplitude_a_per_m,
    reference_moment_am2,
    shown_reading_m,
    threshold_a_per_m,
)
from coldfield.drill import SKILLS, Receiver, Skill
from coldfield.errors import OutOfModel
from coldfield.message import message

END_READING_M = 3.0
LONGEST_M = 600.0
"""A walk that has not ended after this length in plan is given up, m."""

SPACING_M = 0.5
"""Distance in plan between the points of a returned line, m."""

_OFF_SNOW = np.array([0.0, 1.0])

Ended = Literal[
    "reading of 3 m", "closest approach", "direction lost", "signal lost", "too long", "not heard"
]
ENDS: tuple[Ended, ...] = get_args(Ended)


class MeasuredSnow(SnowSurface, Protocol):
    """Snow that can also measure lengths on its surface."""

    def length_m(self, line_m: ArrayLike) -> float:
        """Return the length on the snow of a line given in plan, shape (k, 2), m."""
        ...


@dataclass(frozen=True, eq=False)
class FluxLine:
    """A walk along the direction, from where it starts to where it ends.

    `line_m` (k, 2) is in plan, `length_m` on the snow, `reading_m` (k,) as shown, `direction_rad`
    (k,) the azimuth of the walk, 0 up to 2 pi, and `walked_s` (k,) the time since the start.
    `ended` says how the walk ended: one of `ENDS`.
    """

    line_m: NDArray[np.float64]
    length_m: float
    reading_m: NDArray[np.float64]
    direction_rad: NDArray[np.float64]
    walked_s: NDArray[np.float64]
    ended: Ended


def walked_flux_line(
    sources: Sources,
    index: int,
    terrain: MeasuredSnow,
    start_m: ArrayLike,
    receiver: Receiver,
    sense: Literal[1, -1] | None = None,
    *,
    noise_rise_db: float = 0.0,
    pace: Skill = SKILLS["practised"],
) -> FluxLine:
    """Return the line on the snow of a searcher who follows the direction of one set from a point.

    Parameters
    ----------
    sources : Sources
        The transmitting sets.
    index : int
        Which of them is followed.
    terrain : MeasuredSnow
        The snow under the plan.
    start_m : array_like, shape (2,)
        Where the walk starts, in plan, m.
    receiver : Receiver
        The receiver that shows directions and readings.
    sense : {1, -1, None}
        With the field, against it, or the better of the two. A way that ends at a 3 m reading or at
        a closest approach is better than one that does not; then the shorter way is better.
    noise_rise_db : float
        Rise of today's noise over quiet, dB.
    pace : Skill
        Its speeds on level snow give the times along the line.

    Returns
    -------
    FluxLine
        Points about 0.5 m apart; a single point where the set is not heard at the start.

    Raises
    ------
    OutOfModel
        If the start is not finite.

    Notes
    -----
    The set is carried at `carry_height_m`, held level and pointed along the line. So this is the
    line of the horizontal part of the field, not the projection of a true flux line. The walk ends
    at a 3 m reading, at the lowest reading before that, where the set or its direction is lost, or
    after 600 m. It is integrated with Dormand and Prince's 5(4) pair; the tolerance of each step is
    1e-6 relative and 0.1 mm absolute.
    """
    start = np.asarray(start_m, dtype=np.float64)
    if start.shape != (2,) or not np.isfinite(start).all():
        raise OutOfModel(message("fault.flux_start"))
    walks = [
        _Walk(sources, index, terrain, receiver, noise_rise_db, s)
        for s in ((1, -1) if sense is None else (sense,))
    ]
    lines = [walk.line(start, pace) for walk in walks]
    return min(lines, key=lambda line: (ENDS.index(line.ended) > 1, line.length_m))


@dataclass(frozen=True)
class _Here:
    """What the searcher's set finds at one place, in A/m, m and rad."""

    azimuth_rad: float
    raw_reading_m: float
    amplitude: float
    level_amplitude: float


class _Walk:
    """One walk. It uses plain numbers, because some hundred steps each need only one point."""

    def __init__(
        self,
        sources: Sources,
        index: int,
        terrain: MeasuredSnow,
        receiver: Receiver,
        noise_rise_db: float,
        sense: int,
    ) -> None:
        self.terrain, self.sense, self.receiver = terrain, sense, receiver
        self.source = [float(v) for v in sources.point_m[index]]
        self.moment = [float(v) for v in sources.moment_am2[index]]
        self.factors = [float(f) for f in antenna_factors(receiver)]
        self.threshold = threshold_a_per_m(receiver, noise_rise_db)
        self.reference = reference_moment_am2(receiver)

    def here(self, x: float, y: float) -> _Here:
        """Return what the set finds above a place, at the height at which it is carried there."""
        base, tip = self.terrain.at(np.array([[x, y], [x, y]]), _OFF_SNOW).tolist()
        out = (tip[0] - base[0], tip[1] - base[1], tip[2] - base[2])
        from_set = (base[0] - self.source[0], base[1] - self.source[1], base[2] - self.source[2])
        height = FAR_HEIGHT_M
        for turn in range(CARRY_ROUNDS):
            d = [a + height * b for a, b in zip(from_set, out, strict=True)]
            h, in_step = self._field(d[0], d[1], d[2])
            size = sqrt(abs(h[0]) ** 2 + abs(h[1]) ** 2 + abs(h[2]) ** 2)
            reading = reading_m(self.reference, size)
            carried = carry_height_m(reading, height if turn >= CARRY_SETTLED else FAR_HEIGHT_M)
            if abs(carried - height) < 1e-7:
                break
            height = carried
        azimuth = 0.5 * atan2(2.0 * (h[0] * h[1].conjugate()).real, abs(h[1]) ** 2 - abs(h[0]) ** 2)
        east, north = sin(azimuth), cos(azimuth)
        along = abs(h[0] * east + h[1] * north) / self.factors[0]
        across = abs(h[0] * north - h[1] * east) / self.factors[min(1, len(self.factors) - 1)]
        upright = abs(h[2]) / self.factors[2] if len(self.factors) == 3 else 0.0
        beside = across if len(self.factors) > 1 else 0.0
        amplitude = sqrt(along**2 + beside**2 + upright**2)
        if self.receiver.turning:
            amplitude = float(combined_amplitude_a_per_m(self.receiver, h))
        if (in_step[0] * east + in_step[1] * north) * self.sense < 0.0:
            azimuth += pi
        return _Here(azimuth % (2.0 * pi), reading, amplitude, hypot(along, across))

    def _field(self, x: float, y: float, z: float) -> tuple[tuple[complex, ...], tuple[float, float]]:
        """Return the full field without its phase, and the part of its level field in phase with
        the near field.

        That part never changes sign with distance, so it distinguishes the two ends of a line. In the
        terms of `coldfield.beacon.formulas`, the field divided by (1 - ikr), the factor of the near
        field on the axis, has the real part (p + k^2 r^2 s) / (1 + k^2 r^2). Neither s nor p rotates.
        """
        if x == y == z == 0.0:
            raise OutOfModel(message("fault.through_set"))
        mx, my, mz = self.moment
        h = field_but_for_phase(x, y, z, mx, my, mz, WAVENUMBER_PER_M)
        kr = WAVENUMBER_PER_M * sqrt(x * x + y * y + z * z)
        return h, (h[0].real - kr * h[0].imag, h[1].real - kr * h[1].imag)

    def line(self, start: NDArray[np.float64], pace: Skill) -> FluxLine:
        """Walk from `start` to the end."""
        here = self.here(*start)
        if here.amplitude < self.threshold:
            return self._described(start[None, :], pace, "not heard")
        if here.level_amplitude < self.threshold:
            return self._described(start[None, :], pace, "direction lost")
        if here.raw_reading_m <= END_READING_M:
            return self._described(start[None, :], pace, ENDS[0])
        from scipy.integrate import solve_ivp

        solution = solve_ivp(
            self._step,
            (0.0, LONGEST_M),
            start,
            rtol=1e-6,
            atol=1e-4,
            max_step=5.0,
            dense_output=True,
            events=self._events(),
        )
        assert solution.t_events is not None
        assert solution.sol is not None
        hits = [k for k, times in enumerate(solution.t_events) if len(times)]
        samples = max(2, int(np.ceil(solution.t[-1] / SPACING_M)) + 1)
        line = solution.sol(np.linspace(0.0, solution.t[-1], samples)).T
        return self._described(np.asarray(line), pace, ENDS[hits[0]] if hits else "too long")

    def _step(self, _length: float, xy: NDArray[np.float64]) -> list[float]:
        azimuth = self.here(xy[0], xy[1]).azimuth_rad
        return [sin(azimuth), cos(azimuth)]

    def _events(self) -> list[_Event]:
        """Return what ends a walk, in the order of `ENDS`."""

        def rise(_length: float, xy: NDArray[np.float64]) -> float:
            here = self.here(xy[0], xy[1])
            dx, dy = 5e-3 * sin(here.azimuth_rad), 5e-3 * cos(here.azimuth_rad)
            ahead, behind = self.here(xy[0] + dx, xy[1] + dy), self.here(xy[0] - dx, xy[1] - dy)
            return ahead.raw_reading_m - behind.raw_reading_m

        return [
            _Event(lambda _length, xy: self.here(xy[0], xy[1]).raw_reading_m - END_READING_M, -1.0),
            _Event(rise, 1.0),
            _Event(lambda _length, xy: self.here(xy[0], xy[1]).level_amplitude / self.threshold - 1.0, -1.0),
            _Event(lambda _length, xy: self.here(xy[0], xy[1]).amplitude / self.threshold - 1.0, -1.0),
        ]

    def _described(self, line: NDArray[np.float64], pace: Skill, ended: Ended) -> FluxLine:
        found = [self.here(x, y) for x, y in line]
        raw = np.array([f.raw_reading_m for f in found])
        heard = np.array([f.amplitude >= self.threshold * (1.0 - 1e-9) for f in found])
        steps = np.array([self.terrain.length_m(line[k : k + 2]) for k in range(len(line) - 1)])
        speed = np.where(raw[1:] >= 10.0, pace.coarse_speed_m_s, pace.near_speed_m_s)
        return FluxLine(
            line_m=line,
            length_m=float(steps.sum()),
            reading_m=np.where(heard, shown_reading_m(raw), np.nan),
            direction_rad=np.array([f.azimuth_rad for f in found]),
            walked_s=np.concatenate([[0.0], np.cumsum(steps / speed)]),
            ended=ended,
        )


class _Event:
    """A crossing that ends the walk, with the attributes that SciPy's solver expects."""

    terminal = True

    def __init__(self, value: _Value, direction: float) -> None:
        self._value, self.direction = value, direction

    def __call__(self, length: float, xy: NDArray[np.float64]) -> float:
        return self._value(length, xy)


class _Value(Protocol):
    def __call__(self, length: float, xy: NDArray[np.float64], /) -> float: ...


def true_flux_line_m(moment_am2: ArrayLike, offset_m: ArrayLike, points: int = 181) -> NDArray[np.float64]:
    """Return the closed flux line of a static dipole through one point, shape (points, 3), m.

    Parameters
    ----------
    moment_am2 : array_like, shape (3,)
        Dipole moment, A m2; only its direction matters.
    offset_m : array_like, shape (3,)
        A point of the line, relative to the dipole, m.
    points : int
        Number of points, evenly spaced in the angle from the axis; the first and last are at the dipole.

    Raises
    ------
    OutOfModel
        If the point lies on the axis (its line is the axis) or in the dipole.

    Notes
    -----
    r = L sin^2(theta), from dr / (r dtheta) = H_r / H_theta = 2 cot(theta), as in any textbook.
    This is the line of the static field; at 457 kHz the true line departs from it by some per cent
    beyond 20 m.

    Examples
    --------
    >>> line = true_flux_line_m([0, 0, 1], [8.0, 0, 0])
    >>> np.linalg.norm(line, axis=1).max().round(6).item()
    8.0
    """
    m, d = np.asarray(moment_am2, dtype=np.float64), np.asarray(offset_m, dtype=np.float64)
    axis = m / np.linalg.norm(m)
    side = d - (d @ axis) * axis
    across, r = float(np.linalg.norm(side)), float(np.linalg.norm(d))
    if not np.isfinite(r) or across <= 1e-9 * r:
        raise OutOfModel(message("fault.on_axis"))
    widest = r**3 / across**2
    theta = np.linspace(0.0, pi, points)[:, None]
    return np.asarray(widest * np.sin(theta) ** 2 * (np.sin(theta) * side / across + np.cos(theta) * axis))
