"""Hearing over a grid with whole arrays: slower than compiled loops, for the time until they are ready."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import ArrayLike

from coldfield.beacon.hearing import SnowSurface, Sources, carried_point_m, hear
from coldfield.beacon.hearing_grid import HearingGrid
from coldfield.beacon.receiver import raw_reading_m, threshold_a_per_m
from coldfield.drill import Receiver


def plain_hearing_grid(
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
    """Return the same as `hearing_grid` for the same parameters, using `hear` at `carried_point_m`.

    Notes
    -----
    60 by 45 places and two sets take some tenths of a second; a compiled map of 200 lines, some hundredths.
    """
    east, north = np.asarray(east_m, dtype=np.float64), np.asarray(north_m, dtype=np.float64)
    place = np.stack(np.meshgrid(east, north), axis=-1)
    day = {"heading_rad": heading_rad, "noise_rise_db": noise_rise_db}
    if height_m is None:
        point, _ = carried_point_m(sources, receiver, terrain, place, **day)
    else:
        point = terrain.at(place, np.full(place.shape[:-1], height_m))
    heard = hear(sources, receiver, point, **day)
    count = np.zeros(heard.audible.shape, dtype=np.uint8)
    for one, alike in Counter(group).items():
        count += np.uint8(alike) * hear(sources, one, point, **day).audible.astype(np.uint8)
    chosen = [k for k, name in enumerate(sources.ids) if only is None or name in only]
    reading = raw_reading_m(receiver, heard.magnitude_a_per_m)
    signal = heard.amplitude_a_per_m / threshold_a_per_m(receiver, noise_rise_db)

    def first(values: np.ndarray) -> np.ndarray:
        return np.ascontiguousarray(np.moveaxis(values[..., chosen], -1, 0))

    return HearingGrid(
        tuple(sources.ids[k] for k in chosen),
        east,
        north,
        first(reading).astype(np.float32),
        first(signal).astype(np.float32),
        first(heard.direction_rad).astype(np.float32),
        first(count),
    )
