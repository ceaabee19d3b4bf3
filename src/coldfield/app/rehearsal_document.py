"""A rehearsal as one JSON object: what the command prints and the service answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from coldfield.app.rehearse import Rehearsed
from coldfield.drill import Drill
from coldfield.drill.cautions import LIMITS
from coldfield.rescue.compare import Difference
from coldfield.rescue.digging import DIGGING, DigTime, seconds_to_airway
from coldfield.rescue.digging import NOTE as DIGGING_NOTE
from coldfield.rescue.minutes import all_clear, free_by_minute, phase_shares
from coldfield.rescue.order import MOST_BURIALS, MOST_PEOPLE, DigOrder, Located, dig_orders
from coldfield.rescue.rehearsal import telling_runs
from coldfield.rescue.searcher_model import NOTES
from coldfield.rescue.worth import Worth
from coldfield.survival.curves import BETWEEN, DEFAULT


def dig_times_of(drill: Drill) -> dict[str, DigTime]:
    """Return, by burial, how long digging takes when everybody with a shovel digs there, with the band.

    Without any shovel: by hand. Drills without searchers: empty.
    """
    rates = [s.skill.dig_rate_kg_s for s in drill.searchers if s.shovel]
    rates = rates or [DIGGING.hand_factor * s.skill.dig_rate_kg_s for s in drill.searchers]
    if not rates:
        return {}
    return {
        b.id: seconds_to_airway(
            depth_m=b.depth_m,
            rates_kg_s=rates,
            slope_rad=drill.site.slope_rad,
            density_kg_m3=drill.conditions.snow_density_kg_m3,
        )
        for b in drill.burials
    }


def dig_order_of(rehearsed: Rehearsed) -> DigOrder | None:
    """Return how the people with shovels had best share out the burials, at the median strikes.

    None where fewer than two or more than four burials are found in half of the runs, or nobody
    has a shovel.
    """
    drill, strike = rehearsed.drill, rehearsed.rehearsal.column("probe_strike")
    rates = [s.skill.dig_rate_kg_s for s in drill.searchers if s.shovel]
    located = [
        Located(id=b.id, depth_m=b.depth_m, struck_s=float(np.nanmedian(strike[:, j])))
        for j, b in enumerate(drill.burials)
        if np.mean(np.isfinite(strike[:, j])) >= 0.5
    ]
    if not 2 <= len(located) <= MOST_BURIALS or not rates or len(rates) > MOST_PEOPLE:
        return None
    return dig_orders(
        located,
        people=len(rates),
        rate_kg_s=sum(rates) / len(rates),
        burial_to_alarm_s=drill.conditions.burial_to_alarm_s,
        slope_rad=drill.site.slope_rad,
        density_kg_m3=drill.conditions.snow_density_kg_m3,
    )[0]


def rehearsal_document(
    rehearsed: Rehearsed,
    worth: Sequence[Worth] | None = None,
    *,
    before: Rehearsed | None = None,
    gap: Difference | None = None,
) -> dict[str, Any]:
    """Return the rehearsal as one JSON object: seconds since the alarm, shares from 0 to 1.

    With `worth` also what each change would bring; with `before` and `gap` the rehearsal of the drill
    as it was, and what has changed.
    """
    result, order = rehearsed.outcome, dig_order_of(rehearsed)
    digs, horizon = dig_times_of(rehearsed.drill), rehearsed.settings.horizon_s
    airway, shares = rehearsed.rehearsal.column("airway"), phase_shares(rehearsed.rehearsal)
    document = {
        "runs": result.runs,
        "seed": rehearsed.rehearsal.seed,
        "strip_width_m": None if rehearsed.lanes is None else rehearsed.lanes.strip_width_m,
        "anywhere": rehearsed.anywhere,
        "burials": [
            {
                "id": b.id,
                "found_fraction": b.found_fraction,
                "not_found": b.not_found,
                "seconds": {phase: asdict(band) for phase, band in b.seconds.items()},
                "phase_shares": shares[j],
                "airway_free_by_minute": list(free_by_minute(airway[:, j], horizon_s=horizon)),
                "survival": b.survival,
                "survival_by_curve": b.survival_by_curve,
                "digging": asdict(digs[b.id]),
            }
            for j, b in enumerate(result.burials)
        ],
        "all_clear": asdict(all_clear(rehearsed.rehearsal, horizon_s=horizon)),
        "horizon_s": horizon,
        "telling_runs": telling_runs(rehearsed.rehearsal),
        "expected_survivors": result.expected_survivors,
        "standard_error": result.standard_error,
        "expected_survivors_by_curve": result.expected_by_curve,
        "survival_curve": DEFAULT.name,
        "dig_order": None if order is None else asdict(order),
        "notes": list(rehearsal_notes()),
        "cautions": list(LIMITS),
    }
    if worth is not None:
        document["worth"] = [asdict(w) for w in worth]
    if before is not None and gap is not None:
        document["before"] = rehearsal_document(before)
        document["difference"] = asdict(gap)
    return document


def rehearsal_notes() -> tuple[str, ...]:
    """Return what the model takes for granted, for whoever reads its figures."""
    return (
        *NOTES,
        "a burial not found within 60 min counts as not surviving; an organised rescue is not modelled",
        f"digging: {DIGGING_NOTE}",
        f"survival: {BETWEEN}",
    )
