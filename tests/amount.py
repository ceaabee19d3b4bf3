"""How much a test does: enough in every run to notice what breaks, and much more at a desk (`make desk`).

No test is left out of a run: what differs is how many damaged files, kills or random examples it takes.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

from hypothesis import settings

DESK = os.environ.get("COLDFIELD_TESTS") == "desk"
"""Whether this run is one at a desk."""

MORE_EXAMPLES = 10
"""How many times as many random examples are looked at there."""

Place = TypeVar("Place")


def amount(usual: int, *, desk: int) -> int:
    """Return how many of something a test takes."""
    return desk if DESK else usual


def examples(usual: int) -> settings:
    """Return how many random examples a property is held against, as a decorator."""
    return settings(max_examples=usual * MORE_EXAMPLES if DESK else usual, deadline=None)


def places(every: Sequence[Place], usual: int) -> list[Place]:
    """Return the places at which a test breaks something off: all at a desk, else some from first to last."""
    if DESK or len(every) <= usual:
        return list(every)
    return [every[round(k * (len(every) - 1) / (usual - 1))] for k in range(usual)]
