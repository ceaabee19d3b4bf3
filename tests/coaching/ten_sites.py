"""Ten invented sites with groups, and a wish for each: shapes, holes, slopes, one to three burials."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from math import pi, radians
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "rescue"))

from small_drills import burial, drill, searcher

from coldfield.drill import Drill, Transmitter


@dataclass(frozen=True)
class Case:
    """A drill to propose for, the minutes for nine of ten runs, and wishes."""

    name: str
    drill: Drill
    p90_min: tuple[float, float]
    wish: tuple[str, ...] = ()


def _site(
    boundary, burials: int, people: int, skill: str, *, holes=(), slope_deg: float = 0.0, entry=None
) -> Drill:
    sets = [
        burial(chr(65 + k), (20.0, 20.0), 1.0, transmitter=Transmitter(period_s=0.94 + 0.05 * k))
        for k in range(burials)
    ]
    made = drill(sets, [searcher(f"s{k}", skill) for k in range(people)], slope_rad=radians(slope_deg))
    site = replace(
        made.site,
        boundary_m=tuple((float(x), float(y)) for x, y in boundary),
        holes_m=tuple(tuple((float(x), float(y)) for x, y in hole) for hole in holes),
        entry_m=entry or tuple(float(c) for c in boundary[0]),
        aspect_rad=pi,
    )
    return replace(made, site=site)


def _box(east: float, north: float) -> list[tuple[float, float]]:
    return [(0, 0), (east, 0), (east, north), (0, north)]


CASES = (
    Case("a square", _site(_box(60, 60), 2, 4, "practised"), (7, 11)),
    Case("a long strip", _site(_box(120, 30), 2, 3, "practised"), (12, 18), ("deep",)),
    Case("an L", _site([(0, 0), (80, 0), (80, 30), (30, 30), (30, 80), (0, 80)], 2, 5, "practised"), (6, 10)),
    Case(
        "a hut in it",
        _site(_box(70, 70), 2, 4, "expert", holes=[[(30, 30), (45, 30), (45, 42), (30, 42)]]),
        (5, 8),
        ("close-pair",),
    ),
    Case("steep", _site(_box(60, 80), 1, 3, "practised", slope_deg=25.0), (6, 10), ("upright",)),
    Case("novices", _site(_box(50, 50), 1, 2, "novice"), (9, 15)),
    Case("three burials", _site(_box(80, 80), 3, 6, "practised"), (9, 15), ("close-pair", "overlap")),
    Case("small", _site(_box(30, 30), 1, 2, "practised"), (14, 22), ("deep", "upright")),
    Case("a triangle", _site([(0, 0), (100, 0), (50, 90)], 2, 4, "practised"), (7, 12), ("overlap",)),
    Case("experts, far", _site(_box(130, 100), 2, 6, "expert", slope_deg=12.0), (6, 9), ("upright", "deep")),
)
