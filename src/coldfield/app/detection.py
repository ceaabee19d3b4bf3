"""How likely a set anywhere on the ground is heard from a drill's lanes, and what a second pass adds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from coldfield.app.lanes import lanes_for
from coldfield.app.pictures_out import write_picture
from coldfield.drill.drill import Drill
from coldfield.drill.grid import Grid
from coldfield.search.detection import Detection, detection
from coldfield.search.lanes import LanePlan

NOTES = (
    "each set is judged alone, upright to level in any direction, at usual depths, with today's noise",
    "ground, overlap of pulses and turning the set about while walking are left out",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoPasses:
    """The chances after a first pass, and after a second one with strips half as wide."""

    first: Detection
    second_plan: LanePlan
    both: Detection


def passes(
    drill: Drill, plan: LanePlan, *, searchers: int | None = None, grid: Grid | None = None
) -> TwoPasses:
    """Return the chance that a set is heard at least once from a plan's lanes, and after a second pass.

    The second pass has strips half as wide, laid anew for the same people.
    """
    first = detection(drill, plan.lanes, terrain=grid)
    second_plan = lanes_for(drill, searchers=searchers, strip_width_m=plan.strip_width_m / 2.0, grid=grid)
    second = detection(drill, second_plan.lanes, terrain=grid)
    return TwoPasses(first=first, second_plan=second_plan, both=first.with_second(second))


def passes_document(told: TwoPasses) -> dict[str, Any]:
    """Return the chances as a JSON object; places in m of the site frame."""
    return {
        **_numbers(told.first),
        "second_pass": {
            "strip_width_m": told.second_plan.strip_width_m,
            "seconds": told.second_plan.seconds,
            **_numbers(told.both),
        },
        "notes": list(NOTES),
    }


def _numbers(chances: Detection) -> dict[str, Any]:
    return {
        "mean_probability": chances.mean_probability,
        "least_probability": chances.least_probability,
        "least_heard_m": list(chances.least_m),
    }


def draw_chances(
    drill: Drill, plan: LanePlan, chances: Detection, path: Path | str, *, grid: Grid | None = None
) -> None:
    """Write the plan of lanes over the chance of being heard, as .svg or .png.

    Raises
    ------
    BadInput
        If the file's name ends otherwise, or it cannot be written.
    """
    from coldfield.pictures.lane_plan import chance_figure

    names = {s.id: s.name for s in drill.searchers}
    write_picture(path, lambda: chance_figure(drill.site, plan, chances, names=names, grid=grid))
