"""Hearing over a whole site: grids of readings and directions, contour lines, outlines of hearing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon.field import WAVENUMBER_PER_M
from coldfield.beacon.hearing import SnowSurface, Sources
from coldfield.beacon.receiver import level_weights, reference_moment_am2, square_weights, threshold_a_per_m
from coldfield.drill import Receiver
from coldfield.drill.terrain import Plane
from coldfield.errors import OutOfModel
from coldfield.message import message

MOST_POINTS = 4_000_000


@dataclass(frozen=True, eq=False)
class HearingGrid:
    """How a receiver responds to each of n sets at the points of a grid.

    `east_m` has shape (k,), `north_m` (l,), and all others (n, l, k) in single precision, as the compiled
    loops write them and the browser reads them. `raw_reading_m` is not rounded and is also given where
    nothing is heard. `signal` is amplitude over threshold (heard from 1 on). `direction_rad` is the azimuth
    of the line, 0 up to pi, or nan. `heard_by` is the number of receivers of a group that hear the set.
    """

    ids: tuple[str, ...]
    east_m: NDArray[np.float64]
    north_m: NDArray[np.float64]
    raw_reading_m: NDArray[np.float32]
    signal: NDArray[np.float32]
    direction_rad: NDArray[np.float32]
    heard_by: NDArray[np.uint8]


def hearing_grid(
    sources: Sources,
    receiver: Receiver,
    terrain: SnowSurface,
    *,
    east_m: ArrayLike,
    north_m: ArrayLike,
    heading_rad: float = 0.0,
    noise_rise_db: float = 0.0,
    height_m: float | None = None,
    group: Sequence[Receiver] = (),
    only: Collection[str] | None = None,
) -> HearingGrid:
    """Return what a receiver hears of each set over a grid of places.

    Parameters
    ----------
    sources : Sources
        The transmitting sets.
    receiver : Receiver
        Antennas, factors, threshold or range.
    terrain : SnowSurface
        The snow under the plan.
    east_m, north_m : array_like, shapes (k,) and (l,)
        Lines of the grid, m.
    heading_rad, noise_rise_db : float
        As in `coldfield.beacon.hearing.hear`.
    height_m : float, optional
        Height of the set above the snow; by default that at which it is carried for the lowest reading.
    group : sequence of Receiver
        Receivers to count in `heard_by`, at most 255, at the height of the map's receiver.
    only : collection of str, optional
        Ids of the sets to return; the others only decide how low the set is carried.

    Raises
    ------
    OutOfModel
        If the grid is empty, not finite or has more than four million points times sets, or the
        height is below 0 or above 10 m.

    Notes
    -----
    Compiled loops in single precision give the same figures as `hear` at `carried_point_m`:
    readings to 1e-4 of themselves, azimuths to 1e-4 rad, heights to 0.02 mm. No point coincides
    with a set, because the receiver is carried at least 0.1 m above the snow (or, at a height of 0,
    lies on it).
    """
    from coldfield.beacon.hearing_rows import fill_grid

    east = np.atleast_1d(np.asarray(east_m, dtype=np.float64))
    north = np.atleast_1d(np.asarray(north_m, dtype=np.float64))
    _check(east, north, len(sources.ids), height_m)
    ids = tuple(name for name in sources.ids if only is None or name in only)
    wanted = np.array([ids.index(name) if name in ids else -1 for name in sources.ids], dtype=np.int64)
    middle = np.array([east.mean(), north.mean(), 0.0])
    surface, normal = _snow(terrain, east, north)
    scale = 0.5 / reference_moment_am2(receiver)
    shape = (len(ids), len(north), len(east))
    out, count = np.empty((3, *shape), dtype=np.float32), np.zeros(shape, dtype=np.uint8)
    fill_grid(
        _single(east - middle[0]),
        _single(north - middle[1]),
        surface,
        normal,
        _single(sources.point_m - middle),
        _single(sources.moment_am2 * scale),
        wanted,
        _day(receiver, group, heading_rad, noise_rise_db),
        _group(receiver, group, noise_rise_db),
        -1.0 if height_m is None else height_m,
        out,
        count,
    )
    raw, signal, line = out
    line[line < 0.0] = np.nan
    # exp and log are vectorised and the sixth root is not: this is three times faster and 2e-7 less exact.
    np.log(raw, out=raw)
    raw *= np.float32(-1.0 / 6.0)
    np.exp(raw, out=raw)
    np.sqrt(signal, out=signal)
    return HearingGrid(ids, east, north, raw, signal, line, count)


def reading_contours(
    grid: HearingGrid, index: int, levels_m: Sequence[float]
) -> dict[float, list[NDArray[np.float64]]]:
    """Return, for each reading, the lines (k, 2) in plan along which one set gives it, where it is heard."""
    heard = np.where(grid.signal[index] >= 1.0, grid.raw_reading_m[index], np.nan)
    return {level: _lines(grid, heard, level) for level in levels_m}


def audible_outline(grid: HearingGrid, index: int) -> list[NDArray[np.float64]]:
    """Return the lines (k, 2) in plan on which one set is only just heard."""
    # The logarithm of the amplitude is nearly linear between grid lines.
    return _lines(grid, np.log(np.maximum(grid.signal[index], 1e-6)), 0.0)


def _lines(grid: HearingGrid, values: NDArray[np.floating], level: float) -> list[NDArray[np.float64]]:
    from contourpy import contour_generator

    masked = np.ma.masked_invalid(values.astype(np.float64))
    lines = contour_generator(grid.east_m, grid.north_m, masked).lines(level)
    return [np.asarray(line, dtype=np.float64) for line in lines]


def _check(east: NDArray[np.float64], north: NDArray[np.float64], sets: int, height_m: float | None) -> None:
    count = len(east) * len(north)
    if not (0 < count * max(sets, 1) <= MOST_POINTS and np.isfinite([*east, *north]).all()):
        raise OutOfModel(message("fault.map_points"))
    if height_m is not None and not 0.0 <= height_m <= 10.0:
        raise OutOfModel(message("fault.height_above_snow").at("height"))


def _single(values: NDArray[np.floating]) -> NDArray[np.float32]:
    return np.ascontiguousarray(values, dtype=np.float32)


def _snow(
    terrain: SnowSurface, east: NDArray[np.float64], north: NDArray[np.float64]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Height of the snow (rows, columns) and its unit normals (3, rows, columns)."""
    shape = (len(north), len(east))
    if isinstance(terrain, Plane):
        gx, gy = terrain.gradient()
        even = np.broadcast_to(terrain.normal()[:, None, None], (3, *shape))
        return _single(gx * east + (gy * north)[:, None]), _single(even)
    place = np.stack(np.meshgrid(east, north), axis=-1).reshape(-1, 2)
    base = terrain.at(place, 0.0)
    off = terrain.at(place, 1.0) - base
    return _single(base[:, 2].reshape(shape)), _single(off.T.reshape(3, *shape))


def _day(
    receiver: Receiver, group: Sequence[Receiver], heading_rad: float, noise_rise_db: float
) -> NDArray[np.float32]:
    """Return the weights of `fill_grid` for the map's receiver, and the day's other figures."""
    floor = _floor(receiver, receiver, noise_rise_db)
    turning = any(one.turning for one in (receiver, *group))
    return np.array(
        [
            *_weights(receiver, receiver, noise_rise_db),
            *(level_weights(receiver) / floor),
            WAVENUMBER_PER_M**2,
            np.sin(heading_rad),
            np.cos(heading_rad),
            1.0 if turning else 0.0,
        ],
        dtype=np.float32,
    )


def _floor(receiver: Receiver, mapped: Receiver, noise_rise_db: float) -> float:
    threshold = threshold_a_per_m(receiver, noise_rise_db)
    return float((2.0 * np.pi * threshold / reference_moment_am2(mapped)) ** 2)


def _weights(receiver: Receiver, mapped: Receiver, noise_rise_db: float) -> NDArray[np.float64]:
    """Weights of the squares along, across, upright, of the whole field and of its gap; heard from 1 on."""
    return np.asarray(square_weights(receiver) / _floor(receiver, mapped, noise_rise_db))


def _group(mapped: Receiver, group: Sequence[Receiver], noise_rise_db: float) -> NDArray[np.float32]:
    alike = Counter(group)
    if alike.total() > 255:
        raise OutOfModel(message("fault.map_receivers"))
    rows = [[*_weights(one, mapped, noise_rise_db), float(count)] for one, count in alike.items()]
    return np.array(rows, dtype=np.float32).reshape(-1, 6)
