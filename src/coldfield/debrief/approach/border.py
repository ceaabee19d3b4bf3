"""When a reading was reached, given that a track's positions are only known to some metres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.hearing import Sources
from coldfield.debrief.hearing.places import hear_at
from coldfield.debrief.snow import Snow
from coldfield.drill.searcher import Receiver

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Border:
    """A moment and how well it is known: nineteen times of twenty within `uncertainty_s`."""

    t_s: float
    uncertainty_s: float

    def widened(self, doubt_s: float) -> Border:
        """Return the same with an independent doubt added."""
        return Border(t_s=self.t_s, uncertainty_s=float(np.hypot(self.uncertainty_s, doubt_s)))


@dataclass(frozen=True, slots=True, kw_only=True)
class After:
    """A moment some time after a border: usually `middle_s`, `ratio` the spread of the logarithm."""

    t_s: float
    middle_s: float
    ratio: float

    def weight(self, border_s: Floats) -> Floats:
        """Return how usual borders are, (n,), any scale."""
        soon = np.log(np.maximum(self.t_s - border_s, 1.0) / self.middle_s) / self.ratio
        return np.asarray(np.exp(-0.5 * soon**2))


def _weighted(times: Floats, weight: Floats) -> tuple[float, float, float]:
    order = np.argsort(times)
    share = np.cumsum(weight[order]) / weight.sum()
    low, middle, high = (float(times[order][int(np.searchsorted(share, q))]) for q in (0.025, 0.5, 0.975))
    return low, middle, high


def raw_readings_m(
    sources: Sources, index: int, receiver: Receiver, terrain: Snow, position_m: Floats, above_m: float
) -> Floats:
    """Return readings before rounding, shape (...), of one set at places (..., 2) and one height."""
    heard = hear_at(one_of(sources, index), receiver, terrain, position_m, above_m=above_m)
    return np.asarray(heard.raw_reading_m[..., 0])


def one_of(sources: Sources, index: int) -> Sources:
    """Return one of the sets by itself."""
    return Sources((sources.ids[index],), sources.point_m[[index]], sources.moment_am2[[index]])


def border_of_reading(
    t_s: Floats,
    position_m: Floats,
    *,
    offset_m: Floats,
    reading_m: float,
    sources: Sources,
    index: int,
    receiver: Receiver,
    terrain: Snow,
    then: After | None = None,
) -> Border:
    """Return when a set's reading first fell to `reading_m` on an approach, and how well that is known.

    Parameters
    ----------
    t_s : ndarray, shape (n,)
        Seconds of the approach, up to its end.
    position_m : ndarray, shape (n, 2)
        Places as tracked.
    offset_m : ndarray, shape (c, n, 2)
        What may have to be added to the places: c equally likely courses of the error.
    reading_m : float
        3 or 10.
    sources, index, receiver, terrain
        Which set, heard with what, over which snow.
    then : After, optional
        A later moment that is known, and how long it takes to get there from the border.

    Notes
    -----
    With `then` each course of the error counts as much as the time from its border to that moment is
    usual, and the border is the middle of what they tell. Otherwise the border is where the places as
    tracked first read so little, the set at the height at which it is carried at that reading (0.1 m at
    3 m, 1.0 m at 10 m); where they never do, the moment of the lowest reading; and the same for each
    offset gives the uncertainty: to the farther end of the middle nineteen of twenty.
    """
    above = 0.1 if reading_m <= 3.0 else 1.0
    moved = position_m[None, :, :] + np.concatenate([np.zeros((1, *offset_m.shape[1:])), offset_m])
    readings = raw_readings_m(sources, index, receiver, terrain, moved, above)
    below = readings <= reading_m
    at = np.where(below.any(axis=1), below.argmax(axis=1), readings.argmin(axis=1))
    times = t_s[at]
    if then is not None:
        low, border, high = _weighted(times, then.weight(times))
        return Border(t_s=border, uncertainty_s=max(high - border, border - low))
    low, high = np.quantile(times[1:], [0.025, 0.975])
    border = float(times[0])
    return Border(t_s=border, uncertainty_s=float(max(high - border, border - low)))


def audible_from(
    t_s: Floats,
    position_m: Floats,
    heading_rad: Floats,
    *,
    turn_s: float,
    offset_m: Floats,
    sources: Sources,
    index: int,
    receiver: Receiver,
    terrain: Snow,
    noise_rise_db: float,
) -> Border | None:
    """Return when the set became audible that a searcher turned for; None if it was not by then.

    Arguments as `border_of_reading`, headings (n,) rad. For each offset: the start of the audible
    stretch that goes on at the turn, or is the next after it, silences of up to 5 s counted in.
    """
    audible = hear_at(
        one_of(sources, index),
        receiver,
        terrain,
        position_m[None, :, :] + offset_m,
        heading_rad=heading_rad,
        noise_rise_db=noise_rise_db,
        above_m=1.0,
    ).audible[..., 0]
    turn = int(np.searchsorted(t_s, turn_s))
    found = [start for row in audible if (start := _start_of_stretch(row, turn)) is not None]
    if len(found) <= 0.5 * len(audible):
        return None
    starts = np.array(found)
    low, middle, high = np.quantile(t_s[starts], [0.025, 0.5, 0.975])
    return Border(t_s=float(middle), uncertainty_s=float(max(high - middle, middle - low)))


def _start_of_stretch(audible: NDArray[np.bool_], turn: int, silence: int = 5) -> int | None:
    heard = np.flatnonzero(audible)
    if not heard.size:
        return None
    breaks = np.flatnonzero(np.diff(heard) > silence + 1)
    starts = heard[np.concatenate([[0], breaks + 1])]
    ends = heard[np.concatenate([breaks, [heard.size - 1]])]
    after = np.flatnonzero(ends >= turn - silence)
    return int(starts[after[0]]) if after.size else None
