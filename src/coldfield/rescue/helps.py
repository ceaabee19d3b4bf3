"""Which changes may be said to help: beyond the scatter of the draws, and whatever the constants are.

A gain of two standard errors at the middles of the constants is a statement about these middles. Most of
them are settings, so each change is played again over draws of the constants; where its sign flips with
them, nothing is said about it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coldfield.rescue.worth import Worth, sorted_worth

DRAWS = 24
"""Draws of the constants for each change. Setting."""

RUNS_PER_DRAW = 40
"""Runs with each draw; their mean is the gain with these constants. Setting."""

STEADY = 0.8
"""From this share of the draws on with one sign, the sign does not flip. Setting: with a true gain of one
standard error in each draw, 84 % of them have its sign."""

LEAST_MINUTES = 1.0 / 60.0
"""Less than a second is nothing. Setting."""

Verdict = Literal["helps", "hurts", "unclear"]

OPPOSITES: tuple[tuple[str, str], ...] = (("strips 20 % wider", "strips narrower by a sixth"),)
"""Changes that cannot both help: where both seem to, neither is said to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Helps:
    """A change, what it is worth, and in what share of the draws of the constants it saves minutes.

    `verdict` is 'helps' or 'hurts' only beyond two standard errors and where the sign is steady.
    """

    worth: Worth
    draws: int
    helps_fraction: float
    verdict: Verdict


def helps(worth: Worth, drawn_minutes: NDArray[np.float64]) -> Helps:
    """Return what may be said of a change.

    Parameters
    ----------
    worth : Worth
        At the middles of the constants.
    drawn_minutes : ndarray, shape (draws,)
        Mean minutes saved to the airway with each draw of the constants.

    Examples
    --------
    >>> gain = Worth(change="x", gain_survivors=0.01, standard_error=0.01, gain_minutes=0.4,
    ...              minutes_standard_error=0.1)
    >>> helps(gain, np.array([0.3, 0.5, 0.2, 0.4])).verdict
    'helps'
    >>> helps(gain, np.array([0.3, -0.5, 0.2, -0.4])).verdict
    'unclear'
    """
    gain, draws = worth.gain_minutes, int(drawn_minutes.size)
    with_sign = float(np.mean(np.sign(drawn_minutes) == np.sign(gain))) if draws else 0.0
    clear = abs(gain) > max(LEAST_MINUTES, 2.0 * worth.minutes_standard_error)
    verdict: Verdict = "unclear"
    if clear and with_sign >= STEADY:
        verdict = "helps" if gain > 0.0 else "hurts"
    share = float(np.mean(drawn_minutes > 0.0)) if draws else 0.0
    return Helps(worth=worth, draws=draws, helps_fraction=share, verdict=verdict)


def in_order(found: Sequence[Helps]) -> tuple[Helps, ...]:
    """Return what helps most first, as `sorted_worth`; of two opposite changes that both seem to help, neither does."""
    names = {one.worth.change for one in found if one.verdict == "helps"}
    both = {name for pair in OPPOSITES if set(pair) <= names for name in pair}
    told = {
        one.worth.change: replace(one, verdict="unclear") if one.worth.change in both else one
        for one in found
    }
    return tuple(told[worth.change] for worth in sorted_worth([one.worth for one in found]))
