"""Which constants move the minutes to the airway most: prints the table of docs/rehearsal.md.

    python bench/sensitivity_table.py

Two burials, four practised searchers, 80 x 80 m. Each constant alone is made a fifth larger and a
sixth smaller, with the same runs and draws; minutes are means over runs and burials, a burial not
found or freed after 60 min counting as 60 min.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import fields, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "rescue"))

import numpy as np
from small_drills import burial, drill, searcher, straight_lanes

from coldfield.drill import Drill, Skill
from coldfield.rescue import digging
from coldfield.rescue.rehearsal import rehearse
from coldfield.rescue.settings import SETTINGS, Settings

RUNS, FACTOR = 1500, 1.2
SHARES = ("strike_felt_fraction", "marking_fraction")


def minutes(made: Drill, settings: Settings) -> float:
    """Return the mean minutes to the airway."""
    lanes = straight_lanes(made)
    played = rehearse(made, lanes, seed=1, first_run=0, last_run=RUNS, settings=settings, second=lanes)
    airway = played.column("airway")
    return float(np.minimum(np.where(np.isnan(airway), 3600.0, airway), 3600.0).mean() / 60.0)


def with_skill(made: Drill, name: str, factor: float) -> Drill:
    """Return the drill with one constant of everybody's skill scaled; shares stay at most 1."""

    def scaled(skill: Skill) -> Skill:
        value = getattr(skill, name) * factor
        return replace(skill, **{name: min(value, 1.0) if name in SHARES else value})

    return replace(made, searchers=tuple(replace(s, skill=scaled(s.skill)) for s in made.searchers))


def main() -> None:
    pair = [burial("A", (15.0, 40.0), 0.8), burial("B", (60.0, 65.0), 1.2)]
    made = drill(pair, [searcher(f"s{k}") for k in range(4)], size_m=80.0)
    base = minutes(made, SETTINGS)
    rows: list[tuple[str, float, float]] = []

    def add(name: str, play: Callable[[float], float]) -> None:
        rows.append((name, play(FACTOR) - base, play(1.0 / FACTOR) - base))

    for field in fields(Skill):
        if field.name not in ("name", "fine_rounds"):
            add(field.name, lambda f, n=field.name: minutes(with_skill(made, n, f), SETTINGS))
    for field in fields(Settings):
        value = getattr(SETTINGS, field.name)
        if isinstance(value, float) and field.name != "horizon_s":
            add(field.name, lambda f, n=field.name, v=value: minutes(made, replace(SETTINGS, **{n: v * f})))
    for name in ("WIDTH_M", "LENGTH_FLAT", "REACH_M", "BLOCK_LOSS", "SUSTAINED", "UNCOVER_S", "LEAST_PLACES"):
        value = getattr(digging, name)

        def play(factor: float, name: str = name, value: float = value) -> float:
            setattr(digging, name, value * factor)
            try:
                return minutes(made, SETTINGS)
            finally:
                setattr(digging, name, value)

        add(f"digging.{name}", play)
    rows.sort(key=lambda row: -max(abs(row[1]), abs(row[2])))
    print(f"mean minutes to the airway: {base:.2f}\n")
    print("| constant | a fifth larger, min | a sixth smaller, min |")
    print("|---|---|---|")
    for name, larger, smaller in rows:
        if max(abs(larger), abs(smaller)) >= 0.005:
            print(f"| `{name}` | {larger:+.2f} | {smaller:+.2f} |")
    rest = [name for name, larger, smaller in rows if max(abs(larger), abs(smaller)) < 0.005]
    print("\nless than 0.005 min: " + ", ".join(f"`{name}`" for name in rest))


if __name__ == "__main__":
    main()
