"""Stretches of time in which a condition is true."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def runs(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return the first and last index of each run of True.

    Examples
    --------
    >>> runs(np.array([True, True, False, True]))
    [(0, 1), (3, 3)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in edges.reshape(-1, 2)]


def joined(stretches: Sequence[tuple[int, int]], *, apart: int, least: int) -> list[tuple[int, int]]:
    """Return stretches with breaks of up to `apart` closed, and then without those shorter than `least`.

    If all are shorter, the longest stays.

    Examples
    --------
    >>> joined([(0, 20), (23, 24), (60, 61)], apart=5, least=4)
    [(0, 24)]
    >>> joined([(3, 4)], apart=5, least=4)
    [(3, 4)]
    """
    whole: list[tuple[int, int]] = []
    for first, last in stretches:
        if whole and first - whole[-1][1] - 1 <= apart:
            whole[-1] = (whole[-1][0], last)
        else:
            whole.append((first, last))
    kept = [one for one in whole if one[1] - one[0] + 1 >= least]
    return kept or sorted(whole, key=lambda one: one[0] - one[1])[:1]
