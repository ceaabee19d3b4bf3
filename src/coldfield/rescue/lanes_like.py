"""What a rehearsal needs to know about lanes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray


class LaneLike(Protocol):
    """One searcher's lane: who, and the corners in plan, m."""

    @property
    def searcher(self) -> str:
        """Id of the searcher."""
        ...

    @property
    def line_m(self) -> NDArray[np.float64]:
        """Corners, shape (k, 2)."""
        ...


@dataclass(frozen=True, slots=True)
class NoLanes:
    """No lanes: nobody has a set, so everybody joins the probe line."""

    lanes: tuple[LaneLike, ...] = ()


class LanesLike(Protocol):
    """A plan of lanes, such as `coldfield.search.lanes.plan.LanePlan`."""

    @property
    def lanes(self) -> Sequence[LaneLike]:
        """The lanes, in the order of the searchers."""
        ...
