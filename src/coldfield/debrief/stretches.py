"""Stretches of time in which something held."""

from __future__ import annotations

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
