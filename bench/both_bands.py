"""Draw the two bands of a rehearsal in one picture, docs/pictures/rehearsal_bands.png.

    python bench/both_bands.py

One burial, 40 x 40 m: minutes to the airway by depth, by people and by skill.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "rescue"))

import numpy as np
from small_drills import burial, drill, searcher, straight_lanes

from coldfield.drill import Drill
from coldfield.pictures.style import PEOPLE, dress, figure, picture
from coldfield.rescue.rehearsal import Rehearsal, Scene, rehearse
from coldfield.rescue.unsure import rehearse_unsure

ROOT = Path(__file__).parents[1]
RUNS = 1500
CASES = (
    ("0.5 m, four practised", 0.5, 4, "practised"),
    ("1.0 m, four practised", 1.0, 4, "practised"),
    ("1.5 m, four practised", 1.5, 4, "practised"),
    ("1.0 m, two practised", 1.0, 2, "practised"),
    ("1.0 m, eight practised", 1.0, 8, "practised"),
    ("1.0 m, four novices", 1.0, 4, "novice"),
    ("1.0 m, four experts", 1.0, 4, "expert"),
)


def band_min(rehearsal: Rehearsal) -> tuple[float, float, float]:
    """Return p10, p50 and p90 of the airway, min."""
    low, middle, high = np.quantile(rehearsal.or_never(rehearsal.column("airway")), [0.1, 0.5, 0.9]) / 60.0
    return float(low), float(middle), float(high)


def bands(made: Drill) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Return the band of runs alone, and the one with the constants also drawn."""
    lanes = straight_lanes(made)
    scene = Scene(drill=made, lanes=lanes, seed=1, second=lanes)
    return (
        band_min(rehearse(scene, first_run=0, last_run=RUNS)),
        band_min(rehearse_unsure(scene, first_run=0, last_run=RUNS)),
    )


def main() -> None:
    drawn = figure(width_cm=20, height_cm=9)
    axes = dress(drawn.subplots())
    rows = np.arange(len(CASES))[::-1]
    for row, (words, depth_m, people, skill) in zip(rows, CASES, strict=True):
        made = drill([burial(depth_m=depth_m)], [searcher(f"s{k}", skill) for k in range(people)])
        narrow, wide = bands(made)
        axes.barh(row, wide[2] - wide[0], left=wide[0], height=0.6, color=PEOPLE[0], alpha=0.25)
        axes.barh(row, narrow[2] - narrow[0], left=narrow[0], height=0.3, color=PEOPLE[0])
        axes.plot([narrow[1]], [row], "|", color="white", markersize=9, markeredgewidth=2)
        print(words, *(f"{a:.1f} to {c:.1f} ({b:.1f})" for a, b, c in (narrow, wide)), sep="; ")
    axes.set_yticks(rows, [case[0] for case in CASES])
    axes.set_xlim(left=0.0)
    axes.set_xlabel("minutes from the alarm to a free airway, eight of ten; dark: runs, light: constants too")
    (ROOT / "docs" / "pictures" / "rehearsal_bands.png").write_bytes(picture(drawn, "png", dpi=110))


if __name__ == "__main__":
    main()
