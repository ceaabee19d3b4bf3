"""The strip width that loses the fewest lives: wider strips find people sooner but miss more."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.errors import OutOfModel
from coldfield.message import message
from coldfield.survival.curves import DEFAULT, Curve

WIDTHS = 160
"""Number of widths for which the curve is computed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """The search for which widths are compared: level ground with one burial anywhere on it.

    `first_signal_to_airway_s` is the time from the first signal to the open airway, `before_s` the
    time under the snow before the first searcher starts along a lane.
    """

    area_m2: float = 10_000.0
    searchers: int = 2
    lane_speed_m_s: float = 1.2
    first_signal_to_airway_s: float = 480.0
    before_s: float = 60.0
    curve: Curve = DEFAULT

    def pass_s(self, width_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how long one pass over the ground takes at spacings of lanes, any shape, s."""
        return np.asarray(self.area_m2 / (width_m * self.lane_speed_m_s * self.searchers))


@dataclass(frozen=True, eq=False)
class TimedWidth:
    """Expected survival against width, its maximum, and the widths within 1 % of that.

    `width_m`, `survival`, `first_pass` (share found on the first pass) and `second_pass` (share found
    only on the second) have the shape (k,). `within_m` is the lowest and the highest width whose survival
    is at least 0.99 of the best.
    """

    width_m: NDArray[np.float64]
    survival: NDArray[np.float64]
    first_pass: NDArray[np.float64]
    second_pass: NDArray[np.float64]
    best_m: float
    within_m: tuple[float, float]


def timed_width(reach_m: NDArray[np.float64], scenario: Scenario = Scenario()) -> TimedWidth:
    """Return expected survival against width, with a second search at half the width.

    Parameters
    ----------
    reach_m : ndarray, shape (n,)
        For each of n equally likely burials, the distance from a lane up to which it is heard, m.
    scenario : Scenario
        Ground, searchers, times and survival curve.

    Returns
    -------
    TimedWidth
        For `WIDTHS` widths from a fiftieth of the longest reach to twice it.

    Raises
    ------
    OutOfModel
        If no burial is heard from any distance, or if a figure of the scenario is not above zero.

    Notes
    -----
    A burial lies anywhere between two lanes and is passed at any time of the pass, all equally
    likely. If nothing was heard, the ground is searched again with lanes at half the spacing, a
    quarter of the old width beside the old ones, so no place is more than a quarter away. The same
    burial is then as hard to hear as before. Somebody who is missed twice counts as lost. Left out:
    the whole number of lanes, the ways between them, hearing a set ahead before passing it, more
    than one burial, the slope. Averages over the place are exact for the given reaches; only the
    burials are a sample.
    """
    _check(scenario)
    longest = float(np.max(reach_m, initial=0.0))
    if longest <= 0.0:
        raise OutOfModel(message("fault.nothing_heard"))
    width = np.linspace(0.02, 1.0, WIDTHS) * 2.0 * longest
    first, second = np.array([_passes(reach_m, w) for w in width]).T
    once = scenario.pass_s(width)
    found_first = mean_survival(scenario, np.zeros_like(once), once)
    found_second = mean_survival(scenario, once, 3.0 * once)
    alive = first * found_first + second * found_second
    top = int(np.argmax(alive))
    near = np.flatnonzero(alive >= 0.99 * alive[top])
    return TimedWidth(
        width, alive, first, second, _peak(width, alive, top), (float(width[near[0]]), float(width[near[-1]]))
    )


def mean_survival(
    scenario: Scenario, from_s: NDArray[np.float64], to_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the mean survival of burials passed evenly between two times after the start, both of one shape.

    This is the integral of the linearly interpolated survival curve, from its values at whole seconds.
    """
    end = float(np.max(to_s)) + 1.0
    clock = np.arange(0.0, end + 1.0)
    alive = scenario.curve.survival(clock + scenario.before_s + scenario.first_signal_to_airway_s)
    sum_to = np.concatenate([[0.0], np.cumsum(0.5 * (alive[1:] + alive[:-1]))])
    total = np.interp(to_s, clock, sum_to) - np.interp(from_s, clock, sum_to)
    return np.asarray(total / (to_s - from_s))


def _passes(reach: NDArray[np.float64], width: float) -> tuple[float, float]:
    """Return the shares found on the first pass and only on the second pass.

    A place at distance x from its lane, evenly spread over 0 to w/2, is |x - w/4| from the new lane.
    """
    half, quarter = 0.5 * width, 0.25 * width
    first = np.minimum(reach, half)
    low = np.maximum(first, quarter - reach)
    high = np.minimum(half, quarter + reach)
    second = np.maximum(high - low, 0.0)
    return float(first.mean() / half), float(second.mean() / half)


def _peak(width: NDArray[np.float64], alive: NDArray[np.float64], top: int) -> float:
    """Return the maximum of the parabola through the best three widths."""
    if top in (0, len(width) - 1):
        return float(width[top])
    left, middle, right = alive[top - 1 : top + 2]
    bend = left - 2.0 * middle + right
    shift = 0.5 * (left - right) / bend if bend < 0.0 else 0.0
    return float(width[top] + shift * (width[1] - width[0]))


def _check(scenario: Scenario) -> None:
    figures = (scenario.area_m2, scenario.searchers, scenario.lane_speed_m_s)
    if not (np.isfinite(figures).all() and min(figures) > 0.0):
        raise OutOfModel(message("fault.scenario_above_0"))
    if not (0.0 <= scenario.first_signal_to_airway_s < np.inf and 0.0 <= scenario.before_s < np.inf):
        raise OutOfModel(message("fault.scenario_times"))
