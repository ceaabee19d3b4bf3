"""Lanes of one heading, shared in both ways; the plan is chosen from these."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from shapely.geometry.base import BaseGeometry

from coldfield.message import Message
from coldfield.search.lanes.abreast import Part, abreast_parts, optimistic_abreast_s
from coldfield.search.lanes.parallel import Strip, even_edges, mended, strips
from coldfield.search.lanes.sharing import TimedWalk, least_cuts, parts_of
from coldfield.search.lanes.snow_axes import Pace, turned
from coldfield.search.lanes.tour import tour_of
from coldfield.search.lanes.walkable import Walkable

Sharing = Literal["own sectors", "line abreast"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Lanes of all searchers in flat axes turned by `turn_rad`; the last one ends at `seconds`."""

    sharing: Sharing
    seconds: float
    parts: list[Part]
    turn_rad: float
    strips: int
    ordered: Message | None = None


class Layout:
    """Strips of one heading, one walk through them, and the cuts that share it in the least time.

    `seconds` is the time at which the last searcher ends with own sectors.
    """

    def __init__(
        self,
        walkable: Walkable,
        ground: BaseGeometry,
        pace: Pace,
        *,
        walks: list[Strip],
        width_m: float,
        speeds_m_s: Sequence[float],
    ) -> None:
        self.walkable, self.ground, self.pace = walkable, ground, pace
        self.walks, self.width_m, self.speeds_m_s = walks, width_m, speeds_m_s
        self.tour = tour_of(walkable, walks, from_entry=len(speeds_m_s) == 1)
        self._walk = TimedWalk(walkable, self.tour, pace)
        self.seconds, self._cuts, self._order = self._shared(speeds_m_s[: len(walks)])

    @classmethod
    def of(
        cls,
        walkable: Walkable,
        ground: BaseGeometry,
        pace: Pace,
        turn_rad: float,
        width_m: float,
        speeds_m_s: Sequence[float],
    ) -> Layout:
        """Return the strips of a heading, before gaps round holes are filled."""
        view, area = walkable.turned(turn_rad), turned(ground, turn_rad)
        walks = strips(view, area, even_edges(area, width_m), 0.5 * width_m)
        own_pace = Pace(flat=pace.flat.turned(turn_rad), factor=pace.factor)
        return cls(view, area, own_pace, walks=walks, width_m=width_m, speeds_m_s=speeds_m_s)

    def _shared(self, speeds_m_s: Sequence[float]) -> tuple[float, list[int], list[int]]:
        """Return the least time, the cuts and who walks which part; four orders of people are tried."""
        given = list(range(len(speeds_m_s)))
        by_speed = sorted(given, key=lambda i: speeds_m_s[i])
        orders = [given] if len(set(speeds_m_s)) == 1 else [given, given[::-1], by_speed, by_speed[::-1]]
        tried = [(*least_cuts(self._walk, [speeds_m_s[i] for i in order]), order) for order in orders]
        return min(tried, key=lambda trial: trial[0])

    def mended(self) -> Layout:
        """Return the layout that covers all ground that can be covered."""
        walks = mended(self.walkable, self.ground, self.walks, 0.5 * self.width_m)
        return Layout(
            self.walkable,
            self.ground,
            self.pace,
            walks=walks,
            width_m=self.width_m,
            speeds_m_s=self.speeds_m_s,
        )

    def own_sectors(self) -> Draft:
        """Return the walk cut into one contiguous part per person, all ending as early as possible."""
        speeds = [self.speeds_m_s[i] for i in self._order]
        parts = parts_of(self._walk, self._cuts, self.walkable, self.pace, speeds)
        named = [replace(part, searcher=self._order[part.searcher]) for part in parts]
        return self._draft("own sectors", sorted(named, key=lambda part: part.searcher))

    def optimistic_abreast_s(self) -> float:
        """Return a time that `line_abreast` cannot beat, s; fast to compute."""
        return optimistic_abreast_s(self.tour.chains, self.pace, self._row())

    def row_of(self) -> int:
        """Return how many people can have a strip each, side by side."""
        return min(len(self.speeds_m_s), max(len(chain) for chain in self.tour.chains))

    def _row(self) -> Sequence[float]:
        return self.speeds_m_s[: self.row_of()]

    def line_abreast(self) -> Draft:
        """Return lanes in a row that moves at the slowest member's speed."""
        row = self._row()
        return self._draft("line abreast", abreast_parts(self.walkable, self.tour.chains, self.pace, row))

    def _draft(self, sharing: Sharing, parts: list[Part]) -> Draft:
        return Draft(
            sharing=sharing,
            seconds=float(np.max([part.seconds for part in parts])),
            parts=parts,
            turn_rad=self.pace.flat.turn_rad,
            strips=len(self.walks),
        )
