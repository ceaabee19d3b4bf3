"""A rehearsal as the answer of the command and the service."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import Any

import numpy as np

from coldfield.app.rehearsals.answers import (
    AllClearAnswer,
    MadeByAnswer,
    OneRehearsal,
    RehearsalAnswer,
    RehearsedBurial,
    UnsureAnswer,
    UnsureBandAnswer,
    WhyNotFound,
)
from coldfield.app.rehearsals.constants import constant_words
from coldfield.app.rehearsals.rehearse import Rehearsed
from coldfield.drill import Drill
from coldfield.drill.cautions import LIMITS
from coldfield.files.drill_json import write_drill
from coldfield.message import Message, message
from coldfield.rescue import MODEL_VERSION
from coldfield.rescue.compare import Difference
from coldfield.rescue.digging import DIGGING, DigTime, seconds_to_airway
from coldfield.rescue.digging import NOTE as DIGGING_NOTE
from coldfield.rescue.minutes import all_clear, free_by_minute, phase_shares
from coldfield.rescue.order import MOST_BURIALS, MOST_PEOPLE, DigOrder, Located, dig_orders
from coldfield.rescue.outcome import Band, band_of, telling_runs
from coldfield.rescue.played import REASONS
from coldfield.rescue.player.play import NOTES
from coldfield.rescue.rehearsal import Rehearsal
from coldfield.rescue.unsure import unsure
from coldfield.rescue.worth import Worth
from coldfield.survival.curves import BETWEEN, DEFAULT


def dig_times_of(drill: Drill) -> dict[str, DigTime]:
    """Return, by burial, how long digging takes if everybody with a shovel digs there, with a band.

    Without any shovel, people dig by hand. For drills without searchers the result is empty.
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
    """Return how the people with shovels should best divide the burials, given the median strikes.

    None if fewer than two or more than four burials are found in half of the runs, or nobody has a shovel.
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


def rehearsal_answer(
    rehearsed: Rehearsed,
    worth: Sequence[Worth] | None = None,
    *,
    before: Rehearsed | None = None,
    gap: Difference | None = None,
) -> RehearsalAnswer:
    """Return a rehearsal as `coldfield rehearse --json` prints it.

    With `worth`, add the gain of each change; with `before` and `gap`, add the rehearsal of the drill before
    the change, and the difference.
    """
    old = None if before is None or gap is None else before
    return RehearsalAnswer(
        **_one(rehearsed),
        worth=None if worth is None else tuple(worth),
        own=own_figures(rehearsed),
        own_drill=None if rehearsed.own is None else json.loads(write_drill(rehearsed.drill)),
        before=None if old is None else OneRehearsal(**_one(old)),
        difference=None if old is None else gap,
    )


def own_figures(rehearsed: Rehearsed) -> Message | None:
    """Return how many runs the group's own figures come from, None for a rehearsal with the settings."""
    return None if rehearsed.own is None else message("coach.own_figures", n=rehearsed.own.learned.runs)


def _one(rehearsed: Rehearsed) -> dict[str, Any]:
    """Return the fields of `OneRehearsal`."""
    result, horizon = rehearsed.outcome, rehearsed.settings.horizon_s
    return {
        "model_version": MODEL_VERSION,
        "runs": result.runs,
        "seed": rehearsed.rehearsal.seed,
        "strip_width_m": None if rehearsed.lanes is None else rehearsed.lanes.strip_width_m,
        "anywhere": rehearsed.anywhere,
        "burials": _burials(rehearsed),
        "all_clear": all_clear_of(rehearsed.rehearsal, rehearsed.unsure, horizon),
        "unsure": _unsure(rehearsed),
        "horizon_s": horizon,
        "telling_runs": telling_runs(rehearsed.rehearsal),
        "expected_survivors": result.expected_survivors,
        "standard_error": result.standard_error,
        "expected_survivors_by_curve": result.expected_by_curve,
        "survival_curve": DEFAULT.name,
        "dig_order": dig_order_of(rehearsed),
        "notes": rehearsal_notes(),
        "cautions": LIMITS,
    }


def _burials(rehearsed: Rehearsed) -> tuple[RehearsedBurial, ...]:
    result, horizon = rehearsed.outcome, rehearsed.settings.horizon_s
    digs, shares = dig_times_of(rehearsed.drill), phase_shares(rehearsed.rehearsal)
    airway = rehearsed.rehearsal.column("airway")
    free = [free_by_minute(airway[:, j], horizon_s=horizon) for j in range(len(result.burials))]
    return tuple(
        RehearsedBurial(
            id=b.id,
            found_fraction=b.found_fraction,
            freed_fraction=free[j][-1],
            not_found=b.not_found,
            why_not_found=tuple(
                WhyNotFound(reason=REASONS[why], share=share) for why, share in b.not_found.items()
            ),
            seconds={phase: by_horizon(band, horizon) for phase, band in b.seconds.items()},
            airway_unsure=unsure_airway(rehearsed, j),
            phase_shares=shares[j],
            airway_free_by_minute=free[j],
            survival=b.survival,
            survival_by_curve=b.survival_by_curve,
            digging=digs[b.id],
        )
        for j, b in enumerate(result.burials)
    )


def _unsure(rehearsed: Rehearsed) -> UnsureAnswer:
    doubt = unsure(rehearsed.unsure)
    return UnsureAnswer(
        runs=doubt.runs,
        made_by=tuple(
            MadeByAnswer(constant=one.constant, share=one.share, words=constant_words(one.constant))
            for one in doubt.made_by
        ),
    )


def by_horizon(band: Band, horizon_s: float) -> Band:
    """Return a band whose times after the horizon are None, like those of runs that found nobody."""
    told = {name: value for name, value in asdict(band).items() if value is None or value <= horizon_s}
    return replace(Band(p10=None, p50=None, p90=None, mean=None), **told)


def freed_fraction(rehearsed: Rehearsed, number: int) -> float:
    """Return the share of all runs that free the airway of a burial, by its number, within the horizon."""
    airway = rehearsed.rehearsal.column("airway")[:, number]
    return free_by_minute(airway, horizon_s=rehearsed.settings.horizon_s)[-1]


def unsure_airway(rehearsed: Rehearsed, number: int) -> UnsureBandAnswer:
    """Return p10, p50, p90 of an airway, s, with the constants also drawn; None: later than the horizon."""
    drawn = rehearsed.unsure
    band = band_of(drawn.or_never(drawn.column("airway"))[:, number])
    return _three(by_horizon(band, rehearsed.settings.horizon_s))


def _three(band: Band) -> UnsureBandAnswer:
    return UnsureBandAnswer(p10=band.p10, p50=band.p50, p90=band.p90)


def all_clear_of(rehearsal: Rehearsal, unsure: Rehearsal, horizon_s: float) -> AllClearAnswer:
    """Return when the last airway is free: with the scatter of runs, and with the constants also drawn."""
    told = all_clear(rehearsal, horizon_s=horizon_s)
    drawn = all_clear(unsure, horizon_s=horizon_s).seconds
    return AllClearAnswer(
        seconds=by_horizon(told.seconds, horizon_s),
        unsure=_three(by_horizon(drawn, horizon_s)),
        fraction=told.fraction,
        freed_fraction=told.by_minute[-1],
        by_minute=told.by_minute,
    )


def rehearsal_notes() -> tuple[Message, ...]:
    """Return the assumptions of the model, for readers of its figures."""
    return (
        *NOTES,
        message("note.not_found_is_lost"),
        message("note.digging_model", note=DIGGING_NOTE),
        message("note.survival_model", note=BETWEEN),
    )
