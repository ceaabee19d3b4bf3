"""Pulses in the strength of a tone: where each begins and ends, and which of them share one period."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.pulse_tone import LONGEST_BEAT_S, SHORTEST_BEAT_S, STEP_S

Array = NDArray[np.float64]

SHORTEST_PULSE_S = 0.015
"""Anything shorter counts as a click. Setting."""

SWING = 0.12
"""How early or late the next pulse may be, as a share of the period, and still fit the beat. Setting."""

MOST_MISSED = 3
"""Number of pulses in a row that may be lost in noise. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pulses:
    """Beginning and end of each pulse, s from the start of the recording, shape (n,), and its mean power."""

    start_s: Array
    end_s: Array
    power: Array

    def only(self, wanted: NDArray[np.bool_]) -> Pulses:
        """Return a selection of the pulses."""
        return Pulses(start_s=self.start_s[wanted], end_s=self.end_s[wanted], power=self.power[wanted])


def two_levels(power: Array) -> tuple[float, float]:
    """Return the mean power of noise and the usual power of the tone (two means of the amplitude)."""
    amplitude = np.sqrt(power)
    low, high = (float(np.quantile(amplitude, q)) for q in (0.1, 0.98))
    for _ in range(50):
        above = amplitude > 0.5 * (low + high)
        if above.all() or not above.any():
            return float(np.mean(power)), float(np.mean(power))
        moved = float(amplitude[~above].mean()), float(amplitude[above].mean())
        if abs(moved[0] - low) + abs(moved[1] - high) < 1e-6 * high:
            break
        low, high = moved
    above = amplitude > 0.5 * (low + high)
    return float(np.mean(power[~above])), float(np.median(power[above]))


def pulses_in(power: Array, *, quarter: float) -> Pulses:
    """Return the stretches in which the power stays above `quarter`, each edge between two steps.

    A quarter of the power is half of the amplitude. At that level a symmetric filter does not move
    a sharp edge. Gaps and pulses shorter than 15 ms are treated as noise.
    """
    above = power > quarter
    change = np.diff(above.astype(np.int8))
    up, down = np.flatnonzero(change == 1), np.flatnonzero(change == -1)
    if len(down) and (not len(up) or down[0] < up[0]):
        down = down[1:]
    up = up[: len(down)]
    least = SHORTEST_PULSE_S / STEP_S
    if len(up) > 1:
        parted = (up[1:] - down[:-1]) >= least
        up, down = up[np.append(True, parted)], down[np.append(parted, True)]
    long = (down - up) >= least
    up, down = up[long], down[long]
    mean = np.array([power[a + 1 : b + 1].mean() for a, b in zip(up, down, strict=True)])
    return Pulses(start_s=_crossing(power, up, quarter), end_s=_crossing(power, down, quarter), power=mean)


def _crossing(power: Array, before: NDArray[np.intp], level: float) -> Array:
    """The moments, between two steps, at which the root of the power crosses the root of the level."""
    one, other = np.sqrt(np.maximum(power[before], 0.0)), np.sqrt(np.maximum(power[before + 1], 0.0))
    return np.asarray((before + (level**0.5 - one) / (other - one)) * STEP_S)


def beat_of(middles_s: Array) -> tuple[float, NDArray[np.bool_]]:
    """Return the period of the longest regular chain of pulses, s, and which pulses are in the chain.

    Parameters
    ----------
    middles_s : ndarray, shape (n,)
        Moments of pulses, ascending.

    Notes
    -----
    For each period that a pair of pulses suggests, the longest chain is sought whose steps are one
    to four periods, each within 12 %. Every lost pulse counts against the chain; a period that is
    an integer fraction of the true one therefore loses.
    """
    count = len(middles_s)
    best, best_chain, best_period = -1.0, [0], 0.0
    for period in _candidates(middles_s):
        score, chain = _chain(middles_s, period)
        if score > best + 1e-9:
            best, best_chain, best_period = score, chain, period
    wanted = np.zeros(count, bool)
    wanted[best_chain] = True
    return best_period, wanted


def _candidates(middles_s: Array) -> list[float]:
    """Periods to try: the differences between near pulses, at least 3 % apart, the most common first."""
    apart = np.concatenate([middles_s[k:] - middles_s[:-k] for k in range(1, min(6, len(middles_s)))])
    apart = np.sort(apart[(apart >= SHORTEST_BEAT_S) & (apart <= LONGEST_BEAT_S)])
    if not len(apart):
        return []
    steps = np.round(np.log(apart) / 0.03).astype(int)
    kept = [float(np.median(apart[steps == step])) for step in np.unique(steps)]
    near = [int((np.abs(apart - one) < 0.02 * one).sum()) for one in kept]
    return [kept[i] for i in np.argsort(near)[::-1][:60]]


def _chain(middles_s: Array, period: float) -> tuple[float, list[int]]:
    count = len(middles_s)
    score, before = np.ones(count), np.full(count, -1)
    for i in range(1, count):
        for j in range(i - 1, -1, -1):
            apart = middles_s[i] - middles_s[j]
            if apart > (MOST_MISSED + 1.5) * period:
                break
            whole = round(apart / period)
            off = abs(apart - whole * period) / period
            if not 1 <= whole <= MOST_MISSED + 1 or off > SWING:
                continue
            reached = score[j] + 1.0 - 0.6 * (whole - 1) - off
            if reached > score[i]:
                score[i], before[i] = reached, j
    at = int(score.argmax())
    best = float(score[at])
    chain = []
    while at >= 0:
        chain.append(at)
        at = int(before[at])
    return best, chain[::-1]


def period_of(middles_s: Array, near_s: float) -> tuple[float, float, Array]:
    """Return the period of a chain, s, its standard error, and the steps from pulse to pulse, s.

    The period is the slope of a straight line through the moments against their number. Lost pulses
    are counted, and each step is divided by the periods in it. The standard error is the larger one
    of that of the line and that of the mean step: moments may scatter round an even beat, or each
    period may differ.
    """
    whole = np.maximum(1, np.round(np.diff(middles_s) / near_s))
    at = np.concatenate([[0.0], np.cumsum(whole)])
    slope, offset = np.polyfit(at, middles_s, 1)
    rest = middles_s - (slope * at + offset)
    spread = float(np.sqrt(np.sum(rest**2) / max(1, len(at) - 2)))
    of_line = spread / float(np.sqrt(np.sum((at - at.mean()) ** 2)))
    steps = (np.diff(middles_s) / whole)[whole == 1]
    of_steps = float(np.std(steps, ddof=1)) / at[-1] ** 0.5 if len(steps) > 2 else of_line
    return float(slope), max(of_line, min(of_steps, spread / at[-1] ** 0.5)), np.asarray(steps)
