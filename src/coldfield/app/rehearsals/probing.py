"""The chance and effort of a probing line, from the model and from publications."""

from __future__ import annotations

from dataclasses import replace
from math import degrees, radians

from coldfield.app.rehearsals.answers import PatternAnswer, ProbingAnswer, StrikeAtDepth
from coldfield.message import message
from coldfield.search.pinpointing.probe_lines import (
    DEVIATION_RAD,
    PATTERNS,
    Pattern,
    Posture,
    Published,
    area_over_cell,
    effort,
    probability_over_depths,
    strike_probability,
)

DEPTHS_M = (0.5, 1.0, 1.5, 2.0, 2.5)
NOTES = (
    message("note.probing_model"),
    message("note.probing_areas"),
    message("note.probing_depth"),
    message("note.probing_times"),
)


def probing_table(
    *,
    spacing_m: tuple[float, float] | None = None,
    staggered: bool = False,
    holes: int = 1,
    depth_m: float = 1.5,
    burial_depth_m: float = 1.0,
    deviation_deg: float = degrees(DEVIATION_RAD),
    area_m2: float = 10_000.0,
    people: int = 20,
) -> ProbingAnswer:
    """Return chance and effort of a given pattern, or of those in use, beside the published values.

    Raises
    ------
    OutOfModel
        If a figure lies outside the model.
    """
    rows: list[tuple[Pattern, Published | None]] = [
        (replace(p, depth_m=depth_m), said) for p, said in PATTERNS
    ]
    if spacing_m is not None:
        own = Pattern(
            name=message("term.pattern.own"),
            across_m=spacing_m[0],
            along_m=spacing_m[1],
            staggered=staggered,
            holes=holes,
            depth_m=depth_m,
        )
        rows = [(own, None)]
    spread = radians(deviation_deg)
    return ProbingAnswer(
        burial_depth_m=burial_depth_m,
        area_m2=area_m2,
        people=people,
        patterns=tuple(_row(p, said, burial_depth_m, spread, area_m2, people) for p, said in rows),
        notes=NOTES,
    )


def _row(
    pattern: Pattern,
    said: Published | None,
    burial_depth_m: float,
    deviation_rad: float,
    area_m2: float,
    people: int,
) -> PatternAnswer:
    work = effort(pattern, area_m2=area_m2, people=people)

    def chance(depth_m: float, posture: Posture = "any") -> float:
        return strike_probability(
            pattern, burial_depth_m=depth_m, deviation_rad=deviation_rad, posture=posture
        )

    return PatternAnswer(
        name=pattern.name,
        spacing_m=(pattern.across_m, pattern.along_m),
        holes_a_step=pattern.holes,
        depth_m=pattern.depth_m,
        strike_probability=chance(burial_depth_m),
        flat_strike_probability=chance(burial_depth_m, "flat"),
        any_depth_strike_probability=probability_over_depths(pattern, deviation_rad=deviation_rad),
        area_over_cell=area_over_cell(pattern),
        by_depth=tuple(StrikeAtDepth(burial_depth_m=d, strike_probability=chance(d)) for d in DEPTHS_M),
        published_probability=said.probability if said else None,
        published=said.words if said else None,
        holes=work.holes,
        seconds=work.seconds,
    )
