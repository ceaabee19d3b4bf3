"""The ways in which everything about a run may have been, and what they say of a number or a statement.

Each way has its own walk of everybody, clock of whoever kept the splits, moments at which splits were
pressed, and ranges of the sets. What is worked out is worked out in every one of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

WAYS = 100
"""So many ways stand for all."""

GRAIN_S = 1.0
"""Moments are worked out to the second: none is known better."""

RANGE_DB = 0.8
"""How far a set's range is from that in the drill: 3 % in distance, one standard deviation. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Middle:
    """The middle of a number over all ways, and how far from it nineteen of twenty ways lie."""

    value: float
    uncertainty: float


def middle_of(values: Floats, weight: Floats | None = None, *, grain: float = 0.0) -> Middle:
    """Return the middle of values over ways, (w,), and their spread about it, `grain` at least.

    Ways of which there is no value (NaN) are left out; they may count unevenly, (w,).

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
    """Return the largest value that so large a share of the ways, (w,), reach; -inf where they have none.

    Examples
    --------
    >>> at_least(np.arange(100.0), 0.97)
    3.0
    """
    size = np.sort(np.nan_to_num(values, nan=-np.inf))
    return float(size[min(int(np.floor((1.0 - share) * size.size + 1e-9)), size.size - 1)])


def stream(*keys: int) -> np.random.Generator:
    """Return random numbers that are the same for the same one to three keys every time."""
    return np.random.Generator(np.random.Philox(key=457, counter=[0, *keys, *[0] * (3 - len(keys))]))


def evenly(low_to_high: Floats, share: Floats, key: int) -> Floats:
    """Return one value for each way from a law on values, (n,), with shares (n,): evenly, then mixed."""
    return np.asarray(stream(key).permutation(low_to_high[drawn_evenly(share, WAYS)]))


def drawn_evenly(share: Floats, count: int) -> NDArray[np.intp]:
    """Return which possibility each of so many draws takes, (count,), evenly by their shares, (n,), in order.

    Examples
    --------
    >>> drawn_evenly(np.array([1.0, 0.0, 3.0]), 4).tolist()
    [0, 2, 2, 2]
    """
    reached = np.cumsum(share) / np.sum(share)
    at = np.searchsorted(reached, (np.arange(count) + 0.5) / count)
    return np.asarray(np.minimum(at, share.size - 1))


def range_db() -> Floats:
    """Return by how much a receiver hears worse than the drill says in each way, dB, (WAYS,)."""
    return RANGE_DB * stream(7).standard_normal(WAYS)
