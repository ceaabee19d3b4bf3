"""The debrief's beliefs about times against the rehearsals that draw from the same table."""

from __future__ import annotations

import sys
from math import exp
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "rescue"))

from small_drills import burial, drill, searcher, straight_lanes

from coldfield.debrief.approach.approach import FINE
from coldfield.drill import SKILLS
from coldfield.drill.beliefs import Belief, fine_search, fine_search_and_probing, from_8_m
from coldfield.rescue.rehearsal import Rehearsal, Scene, rehearse

EIGHT_OF_TEN = 1.2816


def played(skill: str, depth_m: float = 1.0) -> Rehearsal:
    made = drill([burial(depth_m=depth_m)], [searcher(skill=skill)])
    return rehearse(Scene(drill=made, lanes=straight_lanes(made), seed=2), first_run=0, last_run=700)


def inside(belief: Belief, seconds: np.ndarray) -> float:
    away = np.abs(np.log(seconds / belief.middle_s))
    return float(np.mean(away <= EIGHT_OF_TEN * belief.spread))


@pytest.mark.parametrize("skill", ["novice", "practised", "expert"])
def test_independent_route_belief_about_one_skill_is_what_rehearsals_play(skill: str) -> None:
    # Rehearsals scatter around the table's medians; the belief also includes their uncertainty.
    many = played(skill)
    fine = many.durations_s()["fine"][:, 0]
    belief = fine_search(SKILLS[skill])
    assert np.nanmedian(fine) == pytest.approx(belief.middle_s, rel=0.2)
    assert 0.8 <= inside(belief, fine) <= 0.97
    strike = fine + many.durations_s()["probe"][:, 0]
    assert inside(fine_search_and_probing(SKILLS[skill]), strike) >= 0.75


def test_independent_route_belief_about_anybody_holds_all_skills_and_depths() -> None:
    fine = np.concatenate(
        [
            played(s, d).durations_s()["fine"][:, 0]
            for s in ("novice", "practised", "expert")
            for d in (0.5, 1.5)
        ]
    )
    assert 0.75 <= inside(FINE["lowest_reading"], fine) <= 0.95


def test_property_further_away_takes_longer_and_one_skill_is_surer_than_anybody() -> None:
    assert from_8_m("lowest_reading").middle_s > fine_search().middle_s
    assert from_8_m("probe_strike").middle_s > from_8_m("lowest_reading").middle_s
    assert fine_search(SKILLS["practised"]).spread < fine_search().spread
    assert exp(fine_search().spread) < 4.0
