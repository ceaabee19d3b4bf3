"""What a receiver hears of each set at many places of the plan, by array functions or a compiled loop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon.hearing import SnowSurface, Sources, carried_point_m, hear
from coldfield.beacon.receiver import (
    hearing_weights,
    raw_reading_m,
    reference_moment_am2,
    shown_reading_m,
    threshold_a_per_m,
)
from coldfield.drill.searcher import Receiver

Floats = NDArray[np.float64]

LARGE = 8_000
"""From this many places times sets, the compiled loop is worth its import. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeardAt:
    """Arrays of shape (..., n) over places and sets.

    `raw_reading_m` is unrounded and also given where nothing is heard; `reading_m` is the shown value, NaN if
    not heard; `direction_rad` is the azimuth of the line, from 0 to below pi, NaN if there is none;
    `strength` is the amplitude relative to the threshold.
    """

    raw_reading_m: Floats
    reading_m: Floats
    direction_rad: Floats
    audible: NDArray[np.bool_]
    strength: Floats


def hear_at(
    sources: Sources,
    receiver: Receiver,
    terrain: SnowSurface,
    position_m: ArrayLike,
    *,
    heading_rad: ArrayLike = 0.0,
    noise_rise_db: float = 0.0,
    above_m: float | None = None,
    large: int = LARGE,
) -> HeardAt:
    """Return what a level receiver hears of each set at places of the plan, in definite mode.

    Parameters
    ----------
    sources, receiver, noise_rise_db
        As `coldfield.beacon.hearing.hear`.
    terrain : SnowSurface
        The snow.
    position_m : array_like, shape (..., 2)
        Places in plan.
    heading_rad : array_like, shape (...)
        Azimuth of the walk.
    above_m : float, optional
        Height of the receiver over the snow; None: the carry height for its reading.
    large : int
        From this many places times sets, the compiled loop is used.

    Notes
    -----
    Both methods agree to 1e-6 m of the carry height (``tests/debrief/test_hearing.py``).
    """
    position = np.asarray(position_m, dtype=np.float64)
    heading = np.broadcast_to(np.asarray(heading_rad, dtype=np.float64), position.shape[:-1])
    if len(sources.ids) * heading.size >= large:
        return _compiled(sources, receiver, terrain, position, heading, noise_rise_db, above_m)
    if above_m is None:
        point, _ = carried_point_m(
            sources, receiver, terrain, position, heading_rad=heading, noise_rise_db=noise_rise_db
        )
    else:
        point = terrain.at(position, np.full(heading.shape, above_m))
    heard = hear(sources, receiver, point, heading_rad=heading, noise_rise_db=noise_rise_db)
    return HeardAt(
        raw_reading_m=raw_reading_m(receiver, heard.magnitude_a_per_m),
        reading_m=heard.reading_m,
        direction_rad=heard.direction_rad,
        audible=heard.audible,
        strength=heard.amplitude_a_per_m / threshold_a_per_m(receiver, noise_rise_db),
    )


def strength_at(
    sources: Sources,
    receiver: Receiver,
    terrain: SnowSurface,
    position_m: Floats,
    *,
    heading_rad: Floats,
    noise_rise_db: float,
    above_m: float,
) -> Floats:
    """Return only the `strength` of `hear_at`, in a third of the time: (..., sets) at places (..., 2)."""
    heading = np.broadcast_to(heading_rad, position_m.shape[:-1])
    return np.asarray(
        np.sqrt(_sums(sources, receiver, terrain, position_m, heading, noise_rise_db, above_m)[1])
    )


def _sums(
    sources: Sources,
    receiver: Receiver,
    terrain: SnowSurface,
    position: Floats,
    heading: Floats,
    noise_rise_db: float,
    above_m: float | None,
) -> Floats:
    """Return the output of the compiled loop, (4, ..., sets)."""
    from coldfield.debrief.hearing.kernel import hear_places

    surface = np.ascontiguousarray(terrain.at(position, np.zeros(heading.shape)).reshape(-1, 3))
    normal = terrain.at(position, np.ones(heading.shape)).reshape(-1, 3) - surface
    out = np.empty((4, heading.size, len(sources.ids)))
    hear_places(
        surface,
        np.ascontiguousarray(normal),
        np.ascontiguousarray(heading.ravel()),
        sources.point_m,
        sources.moment_am2,
        hearing_weights(receiver),
        reference_moment_am2(receiver),
        threshold_a_per_m(receiver, noise_rise_db),
        -1.0 if above_m is None else above_m,
        out,
    )
    return out.reshape(4, *heading.shape, len(sources.ids))


def _compiled(
    sources: Sources,
    receiver: Receiver,
    terrain: SnowSurface,
    position: Floats,
    heading: Floats,
    noise_rise_db: float,
    above_m: float | None,
) -> HeardAt:
    magnitude, share, even, odd = _sums(sources, receiver, terrain, position, heading, noise_rise_db, above_m)
    raw = raw_reading_m(receiver, magnitude)
    audible = share >= 1.0 - 1e-12
    azimuth = np.mod(0.5 * np.arctan2(odd, even), np.pi)
    lined = (even != 0.0) | (odd != 0.0)
    return HeardAt(
        raw_reading_m=raw,
        reading_m=np.where(audible, shown_reading_m(raw), np.nan),
        direction_rad=np.where(lined, np.where(azimuth >= np.pi, 0.0, azimuth), np.nan),
        audible=audible,
        strength=np.sqrt(share),
    )
