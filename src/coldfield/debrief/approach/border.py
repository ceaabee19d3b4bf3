"""Moments of an approach in every possible variant of the run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.ensemble import GRAIN_S, middle_of
from coldfield.drill.beliefs import Belief

Floats = NDArray[np.float64]

NEARLY_M = 0.7
"""An approach that never reaches the limit ends this close to its lowest reading, m. Setting."""

SILENCE_S = 5
"""A silence of up to this many seconds does not end a stretch in which a set was audible. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Border:
    """A moment and its uncertainty: 95 % of the variants are within `uncertainty_s`."""

    t_s: float
    uncertainty_s: float

    @staticmethod
    def of(moments_s: Floats, weight: Floats | None = None) -> Border:
        """Return the median of a moment over all variants, (w,)."""
        middle = middle_of(moments_s, weight, grain=GRAIN_S)
        return Border(t_s=middle.value, uncertainty_s=middle.uncertainty)


def reached(t_s: Floats, reading_m: Floats, limit_m: float) -> Floats:
    """Return when readings (w, n) at moments (n,) first fell to a limit, or almost to their lowest."""
    lowest = reading_m.min(axis=1, keepdims=True) + NEARLY_M
    return np.asarray(t_s[(reading_m <= np.maximum(limit_m, lowest)).argmax(axis=1)])


def usual_share(border_s: Floats, then_s: Floats, usual: Belief) -> Floats:
    """Return how likely the times from a border to a later moment are, (w,), up to a factor."""
    soon = np.log(np.maximum(then_s - border_s, 1.0) / usual.middle_s) / usual.spread
    return np.asarray(np.exp(-0.5 * soon**2))


def audible_from(t_s: Floats, audible: NDArray[np.bool_], turn_s: Floats) -> Floats:
    """Return since when the set was audible for which somebody turned, (w,); NaN if it was not by then.

    This is the start of the audible stretch in (w, n) that contains the turn, or of the next one.
    """
    return np.array([_start(t_s, mine, turn) for mine, turn in zip(audible, turn_s, strict=True)])


def _start(t_s: Floats, audible: NDArray[np.bool_], turn_s: float) -> float:
    heard = np.flatnonzero(audible)
    if not heard.size:
        return float("nan")
    breaks = np.flatnonzero(np.diff(heard) > SILENCE_S + 1)
    starts = heard[np.concatenate([[0], breaks + 1])]
    ends = heard[np.concatenate([breaks, [heard.size - 1]])]
    after = np.flatnonzero(t_s[ends] >= turn_s - SILENCE_S)
    return float(t_s[starts[after[0]]]) if after.size else float("nan")
