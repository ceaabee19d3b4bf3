"""Random numbers that belong to a place in the model, not to the order in which they are drawn.

Each draw is keyed by (seed, run) and counted by (purpose, searcher, source, index). A change of the
drill therefore does not affect any other draw, runs can be computed in any order and by any number of
workers, and two programs of the same model can be compared event by event.

References
----------
.. [1] J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, "Parallel random numbers: as easy as
   1, 2, 3", SC11, 2011: Philox4x64-10, here numpy's implementation.
"""

from __future__ import annotations

from enum import IntEnum
from math import cos, log, pi, sqrt

import numpy as np

_WORD = 2.0**-53


class Purpose(IntEnum):
    """What a draw is for."""

    PULSE = 1
    KEYING = 2
    START = 3
    MARK = 4
    TURN = 5
    PLACE = 6
    HOLE = 7
    LINE = 8
    SNOW = 9
    STRAY = 10
    POSITION = 11
    CONSTANT = 12
    PERSON = 13
    BODY = 14


class Draws:
    """The draws of one run.

    Examples
    --------
    >>> draws = Draws(seed=1, run=0)
    >>> draws.four(Purpose.START, searcher=2) == Draws(seed=1, run=0).four(Purpose.START, searcher=2)
    True
    """

    def __init__(self, *, seed: int, run: int) -> None:
        self._key = np.array([seed % 2**64, run % 2**64], dtype=np.uint64)

    def four(
        self, purpose: Purpose, *, searcher: int = 0, source: int = 0, index: int = 0
    ) -> tuple[float, float, float, float]:
        """Return four numbers from 0 up to 1, always the same for the same place in the model."""
        a, b, c, d = self.fours(purpose, 1, searcher=searcher, source=source, index=index)
        return a, b, c, d

    def fours(
        self, purpose: Purpose, many: int, *, searcher: int = 0, source: int = 0, index: int = 0
    ) -> list[float]:
        """Return those of a number of consecutive indices, starting at `index`."""
        # numpy steps the counter before it fills a block, so start one below.
        counter = [(index - 1) % 2**64, int(purpose), searcher, source]
        if index == 0:
            counter = [2**64 - 1, int(purpose) - 1, searcher, source]
        bits = np.random.Philox(key=self._key, counter=np.array(counter, dtype=np.uint64))
        return [(int(word) >> 11) * _WORD for word in bits.random_raw(4 * many)]


def normal(u: float, v: float) -> float:
    """Return a standard normal number from two uniform ones (Box and Muller 1958)."""
    return sqrt(-2.0 * log(1.0 - u)) * cos(2.0 * pi * v)
