"""The possible variants of a run ('ways' in the code), and statistics over them.

Each variant has its own walk of everybody, error of the split-keeper's clock, moments at which splits were
pressed, and ranges of the sets. Every result is computed in each variant.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

WAYS = 100
"""The number of variants."""

GRAIN_S = 1.0
"""Moments are computed to the second; none is known more precisely."""

RANGE_DB = 0.8
"""Deviation of a set's range from that in the drill: 3 % in distance, one standard deviation. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Middle:
    """The median of a number over all variants, and the distance within which 95 % of them lie."""

    value: float
    uncertainty: float


def middle_of(values: Floats, weight: Floats | None = None, *, grain: float = 0.0) -> Middle:
    """Return the median of values over variants, (w,), and their 95 % spread about it, at least `grain`.

    Variants without a value (NaN) are left out; `weight` is optional, (w,).

    Examples
    --------
    >>> middle_of(np.array([1.0, 2.0, 3.0, np.nan]))
    Middle(value=2.0, uncertainty=1.0)
    """
    known = np.isfinite(values)
    told = values[known]
    count = np.ones(told.size) if weight is None else weight[known]
    value = _quantile(told, count, 0.5)
    return Middle(value=value, uncertainty=max(_quantile(np.abs(told - value), count, 0.95), grain))


def _quantile(values: Floats, weight: Floats, share: float) -> float:
    order = np.argsort(values)
    reached = np.cumsum(weight[order])
    at = int(np.searchsorted(reached, share * reached[-1]))
    return float(values[order][min(at, values.size - 1)])


def at_least(values: Floats, share: float) -> float:
    """Return the largest value that a share of the variants, (w,), reach; -inf if there is none.

    Examples
    --------
    >>> at_least(np.arange(100.0), 0.97)
    3.0
    """
    size = np.sort(np.nan_to_num(values, nan=-np.inf))
    return float(size[min(int(np.floor((1.0 - share) * size.size + 1e-9)), size.size - 1)])


def stream(*keys: int) -> np.random.Generator:
    """Return a random stream that is always the same for the same one to three keys."""
    return np.random.Generator(np.random.Philox(key=457, counter=[0, *keys, *[0] * (3 - len(keys))]))


def evenly(low_to_high: Floats, share: Floats, key: int) -> Floats:
    """Return one value per variant from values, (n,), with shares, (n,): stratified, then shuffled."""
    return np.asarray(stream(key).permutation(low_to_high[drawn_evenly(share, WAYS)]))


def drawn_evenly(share: Floats, count: int) -> NDArray[np.intp]:
    """Return the choice of each of `count` stratified draws, in order, from options with shares (n,).

    Examples
    --------
    >>> drawn_evenly(np.array([1.0, 0.0, 3.0]), 4).tolist()
    [0, 2, 2, 2]
    """
    reached = np.cumsum(share) / np.sum(share)
    at = np.searchsorted(reached, (np.arange(count) + 0.5) / count)
    return np.asarray(np.minimum(at, share.size - 1))


def range_db() -> Floats:
    """Return how much worse a receiver hears than the drill says in each variant, dB, (WAYS,)."""
    return RANGE_DB * stream(7).standard_normal(WAYS)
