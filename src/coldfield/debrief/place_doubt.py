"""How far a recorded place may lie from the true one, and the moved places that stand for it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

SAMPLES = 48

SPREAD = 1.8
"""The drift of one device is itself known within a factor of about two: spans that hold nineteen times
of twenty are so much wider than a known drift would make them. From the trials in
``docs/debrief_accuracy.md``."""


def offsets_m(sd_m: ArrayLike, count: int = SAMPLES) -> NDArray[np.float64]:
    """Return offsets, shape (count, n, 2), that stand for a round normal law of deviation `sd_m`, (n,).

    On a spiral by the golden angle, at even steps of the radius' distribution: the same every time.
    Each of the `count` courses keeps its direction and grows and shrinks with the deviation.
    """
    i = np.arange(count) + 0.5
    radius = np.sqrt(-2.0 * np.log1p(-i / count))
    angle = i * np.pi * (3.0 - np.sqrt(5.0))
    unit = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    return unit[:, None, :] * np.asarray(sd_m, dtype=np.float64)[None, :, None]
