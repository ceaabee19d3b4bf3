"""Print the tables of docs/rehearsal.md on the constants that affect the minutes to the airway most.

    python bench/sensitivity_table.py

Two burials, four practised searchers, 80 x 80 m. Each constant alone is made a fifth larger and a sixth
smaller, with the same runs and draws. Minutes are means over runs and burials; a burial not found or freed
after 60 min counts as 60 min. A second table has every constant with median, spreads and source.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import fields, replace
from math import degrees
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "rescue"))

import numpy as np
from small_drills import burial, drill, searcher, straight_lanes

from coldfield.drill import Drill, Skill
from coldfield.drill.skills import TABLE, table_rows
from coldfield.rescue.digging import Digging
from coldfield.rescue.rehearsal import Scene, rehearse
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.rescue.unsure import unsure_constants

RUNS, FACTOR = 1500, 1.2


def minutes(made: Drill, settings: Settings) -> float:
    """Return the mean minutes to the airway."""
    lanes = straight_lanes(made)
    played = rehearse(
        Scene(drill=made, lanes=lanes, seed=1, settings=settings, second=lanes), first_run=0, last_run=RUNS
    )
    airway = played.column("airway")
    return float(np.minimum(np.where(np.isnan(airway), 3600.0, airway), 3600.0).mean() / 60.0)


def with_skill(made: Drill, name: str, factor: float) -> Drill:
    """Return the drill with one constant of everybody's skill scaled; shares stay at most 1."""
    shares = {line.name for line in TABLE if line.kind == "share"}

    def scaled(skill: Skill) -> Skill:
        value = getattr(skill, name) * factor
        return replace(skill, **{name: min(value, 1.0) if name in shares else value})

    return replace(made, searchers=tuple(replace(s, skill=scaled(s.skill)) for s in made.searchers))


def moved_by_each(made: Drill) -> tuple[float, list[tuple[str, float, float]]]:
    """Return the mean minutes, and for each constant the effect of a fifth more and a sixth less."""
    base = minutes(made, SETTINGS)
    rows: list[tuple[str, float, float]] = []

    def add(name: str, play: Callable[[float], float]) -> None:
        rows.append((name, play(FACTOR) - base, play(1.0 / FACTOR) - base))

    for line in TABLE:
        if line.kind != "count":
            add(line.name, lambda f, n=line.name: minutes(with_skill(made, n, f), SETTINGS))
    for field in fields(Settings):
        value = getattr(SETTINGS, field.name)
        if isinstance(value, float) and field.name != "horizon_s":
            add(field.name, lambda f, n=field.name, v=value: minutes(made, replace(SETTINGS, **{n: v * f})))
    for field in fields(Digging):

        def dug(factor: float, name: str = field.name) -> float:
            by = replace(SETTINGS.digging, **{name: getattr(SETTINGS.digging, name) * factor})
            return minutes(made, replace(SETTINGS, digging=by))

        add(f"digging.{field.name}", dug)
    return base, sorted(rows, key=lambda row: -max(abs(row[1]), abs(row[2])))


def every_constant() -> None:
    """Print the tables of constants: skills, then the uncertain settings."""
    print("\n| constant | novice, practised, expert | between people | run to run | uncertain | source |")
    print("|---|---|---|---|---|---|")
    for row in table_rows():
        name = str(row["name"])
        angle = name.endswith("_rad")
        middles = [float(row[skill]) for skill in ("novice", "practised", "expert")]
        told = ", ".join(f"{degrees(m):.0f}°" if angle else f"{m:g}" for m in middles)
        sources = str(row["source"])
        if row["spread_source"] != "setting":
            sources += f"; spread: {row['spread_source']}"
        unsure = f"x {float(row['unsure']):g}" if float(row["unsure"]) > 1.0 else "-"
        print(f"| `{name}` | {told} | {row['between']:g} | {row['within']:g} | {unsure} | {sources} |")
    print("\n| constant | median | uncertain |")
    print("|---|---|---|")
    for constant in unsure_constants():
        if not constant.skilled:
            of = SETTINGS.digging if constant.name.startswith("digging.") else SETTINGS
            value = getattr(of, constant.name.removeprefix("digging."))
            print(f"| `{constant.name}` | {value:.3g} | x {constant.factor:g} |")


def main() -> None:
    pair = [burial("A", (15.0, 40.0), 0.8), burial("B", (60.0, 65.0), 1.2)]
    base, rows = moved_by_each(drill(pair, [searcher(f"s{k}") for k in range(4)], size_m=80.0))
    print(f"mean minutes to the airway: {base:.2f}\n")
    print("| constant | a fifth larger, min | a sixth smaller, min |")
    print("|---|---|---|")
    for name, larger, smaller in rows:
        if max(abs(larger), abs(smaller)) >= 0.005:
            print(f"| `{name}` | {larger:+.2f} | {smaller:+.2f} |")
    rest = [name for name, larger, smaller in rows if max(abs(larger), abs(smaller)) < 0.005]
    print("\nless than 0.005 min: " + ", ".join(f"`{name}`" for name in rest))
    every_constant()


if __name__ == "__main__":
    main()
