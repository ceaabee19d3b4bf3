"""Philox4x64-10 written out for compiled loops.

References
----------
.. [1] J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, "Parallel random numbers: as easy as
   1, 2, 3", SC11, 2011: rounds and constants (from memory, checked by a test against numpy).
"""

from __future__ import annotations

from math import cos, log, pi, sqrt

import numpy as np

from coldfield.rescue.kernel.compiled import door, part

PULSE, KEYING, START, MARK, TURN, PLACE, HOLE, LINE, SNOW, STRAY = 1, 2, 3, 4, 5, 6, 7, 8, 9, 10
PERSON, BODY = 13, 14

_M0, _M1 = np.uint64(0xD2E7470EE14C6C93), np.uint64(0xCA5A826395121157)
_W0, _W1 = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B)
_LOW, _HALF, _DROP = np.uint64(0xFFFFFFFF), np.uint64(32), np.uint64(11)
_WORD = 1.0 / 9007199254740992.0


@part
def _high(a, b):
    """Return the upper 64 bits of a product of two 64-bit numbers."""
    a0, a1 = a & _LOW, a >> _HALF
    b0, b1 = b & _LOW, b >> _HALF
    mid = a1 * b0 + ((a0 * b0) >> _HALF)
    low = a0 * b1 + (mid & _LOW)
    return a1 * b1 + (mid >> _HALF) + (low >> _HALF)


@door
def four(seed, run, purpose, searcher, source, index):
    """Return the four uniform numbers of one place in the model."""
    c0, c1 = np.uint64(index), np.uint64(purpose)
    c2, c3 = np.uint64(searcher), np.uint64(source)
    k0, k1 = np.uint64(seed), np.uint64(run)
    for _ in range(10):
        h0, l0 = _high(_M0, c0), _M0 * c0
        h1, l1 = _high(_M1, c2), _M1 * c2
        c0, c1, c2, c3 = h1 ^ c1 ^ k0, l1, h0 ^ c3 ^ k1, l0
        k0, k1 = k0 + _W0, k1 + _W1
    return (
        np.float64(c0 >> _DROP) * _WORD,
        np.float64(c1 >> _DROP) * _WORD,
        np.float64(c2 >> _DROP) * _WORD,
        np.float64(c3 >> _DROP) * _WORD,
    )


@part
def bell(u, v):
    """Return a standard normal number from two uniform ones."""
    return sqrt(-2.0 * log(1.0 - u)) * cos(2.0 * pi * v)
