"""How much a test does: enough in every run to notice what breaks, and much more with `make desk`.

No test is left out of a run; only the number of damaged files, kills or random examples differs.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

from hypothesis import settings

DESK = os.environ.get("COLDFIELD_TESTS") == "desk"
"""Whether this run is `make desk`."""

MORE_EXAMPLES = 10
"""The factor for the number of random examples there."""

Place = TypeVar("Place")


def amount(usual: int, *, desk: int) -> int:
    """Return how many of something a test uses."""
    return desk if DESK else usual


def examples(usual: int) -> settings:
    """Return the number of random examples for a property, as a decorator."""
    return settings(max_examples=usual * MORE_EXAMPLES if DESK else usual, deadline=None)


def places(every: Sequence[Place], usual: int) -> list[Place]:
    """Return the places at which a test interrupts something: all with `make desk`, else some from first to last."""
    if DESK or len(every) <= usual:
        return list(every)
    return [every[round(k * (len(every) - 1) / (usual - 1))] for k in range(usual)]
