"""The second band: with the constants also drawn."""

from __future__ import annotations

from dataclasses import replace
from math import log

import numpy as np
import pytest
from small_drills import burial, drawn_drill, drill, searcher, straight_lanes

from coldfield.drill import SKILLS
from coldfield.drill.skills import CONSTANTS, TABLE
from coldfield.rescue.draws import Draws
from coldfield.rescue.player.drawn_skill import drawn_skill
from coldfield.rescue.rehearsal import Scene, joined, rehearse
from coldfield.rescue.settings import SETTINGS
from coldfield.rescue.unsure import drawn_shifts, rehearse_unsure, shifted, unsure, unsure_constants

FOUR = drill([burial()], [searcher(f"s{k}") for k in range(4)])


def test_independent_route_two_programs_draw_the_same_constants() -> None:
    for number in (3, 8, 21):
        made = drawn_drill(number)
        both = [
            rehearse_unsure(
                Scene(drill=made, lanes=straight_lanes(made), seed=5),
                first_run=6,
                last_run=12,
                compiled=compiled,
                block_runs=4,
            )
            for compiled in (True, False)
        ]
        np.testing.assert_allclose(both[0].moments_s, both[1].moments_s, rtol=0, atol=2e-6, equal_nan=True)


def test_contract_a_run_is_the_same_in_any_part() -> None:
    lanes = straight_lanes(FOUR)
    whole = rehearse_unsure(Scene(drill=FOUR, lanes=lanes, seed=7), first_run=0, last_run=30, block_runs=4)
    parts = [
        rehearse_unsure(Scene(drill=FOUR, lanes=lanes, seed=7), first_run=a, last_run=b, block_runs=4)
        for a, b in ((0, 7), (7, 10), (10, 30))
    ]
    np.testing.assert_array_equal(joined(parts).moments_s, whole.moments_s)


def test_property_the_band_with_constants_drawn_is_the_wider_one_and_digging_makes_it() -> None:
    lanes = straight_lanes(FOUR)
    plain = rehearse(Scene(drill=FOUR, lanes=lanes, seed=1), first_run=0, last_run=1000)
    told = unsure(rehearse_unsure(Scene(drill=FOUR, lanes=lanes, seed=1), first_run=0, last_run=1000))
    low, middle, high = np.quantile(plain.column("airway")[:, 0], [0.1, 0.5, 0.9])
    band = told.burials[0]
    assert band.p10 is not None
    assert band.p50 is not None
    assert band.p90 is not None
    assert band.p10 < low < high < band.p90
    assert band.p50 == pytest.approx(middle, rel=0.1)
    shares = [part.share for part in told.made_by]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1.0)
    assert told.made_by[0].constant == "dig_rate_kg_s"


def test_property_shifts_fill_their_ranges_and_no_shift_changes_nothing() -> None:
    shifts = np.array([drawn_shifts(seed=3, run=run) for run in range(4000)])
    limits = np.array([log(c.factor) for c in unsure_constants()])
    assert (np.abs(shifts) <= limits).all()
    # Uniform on the log scale: deviation limit / sqrt(3), within 5 standard errors of 4000.
    np.testing.assert_allclose(shifts.std(axis=0), limits / np.sqrt(3.0), rtol=0.05)
    assert shifted(FOUR, SETTINGS, np.zeros(len(limits))) == (FOUR, SETTINGS)


def test_property_drawn_people_have_the_tables_middle_spread_and_shared_quickness() -> None:
    skill = SKILLS["practised"]
    drawn = [drawn_skill(searcher(), SETTINGS, Draws(seed=2, run=run), 0) for run in range(3000)]
    logs = {name: np.log([getattr(d, name) for d in drawn]) for name in ("fine_speed_m_s", "dig_rate_kg_s")}
    for name, values in logs.items():
        of = skill.spread[name]
        assert np.exp(values.mean()) == pytest.approx(getattr(skill, name), rel=0.05)
        assert values.std() == pytest.approx(np.hypot(of.between, of.within), rel=0.06)
    fine, dig = skill.spread["fine_speed_m_s"], skill.spread["dig_rate_kg_s"]
    shared = skill.shared * fine.between * dig.between
    expected = shared / (np.hypot(fine.between, fine.within) * np.hypot(dig.between, dig.within))
    found = float(np.corrcoef(logs["fine_speed_m_s"], logs["dig_rate_kg_s"])[0, 1])
    assert found == pytest.approx(expected, abs=4.0 / np.sqrt(3000))


def test_contract_without_spread_everybody_is_the_middle() -> None:
    alike = replace(searcher(), skill=replace(SKILLS["novice"], spread={}))
    assert drawn_skill(alike, SETTINGS, Draws(seed=1, run=9), 0) == alike.skill
    assert {line.name for line in TABLE} == set(CONSTANTS)


def test_independent_route_a_group_kept_from_another_place_of_the_burial_gives_the_same_runs() -> None:
    lanes = straight_lanes(FOUR)
    told = {"first_run": 0, "last_run": 12}
    # Another place, depth and burial, then other people: the second program keeps no state.
    deeper = replace(FOUR.burials[0], position_m=(6.0, 9.0), depth_m=1.7)
    two = replace(deeper, id="B", position_m=(11.0, 4.0))
    slower = tuple(replace(one, shovel=False) for one in FOUR.searchers)
    for made in (
        FOUR,
        replace(FOUR, burials=(deeper,)),
        replace(FOUR, burials=(deeper, two)),
        replace(FOUR, burials=(deeper,), searchers=slower),
    ):
        scene = Scene(drill=made, lanes=lanes, seed=3)
        both = [rehearse_unsure(scene, compiled=compiled, **told) for compiled in (True, False)]
        np.testing.assert_allclose(both[0].moments_s, both[1].moments_s, rtol=0, atol=2e-6, equal_nan=True)


def test_independent_route_burials_anywhere_with_constants_by_block_are_the_same_runs() -> None:
    scene = Scene(drill=FOUR, lanes=straight_lanes(FOUR), seed=5, anywhere=True)
    told = {"first_run": 2, "last_run": 9, "block_runs": 3}
    both = [rehearse_unsure(scene, compiled=compiled, **told) for compiled in (True, False)]
    np.testing.assert_allclose(both[0].moments_s, both[1].moments_s, rtol=0, atol=2e-6, equal_nan=True)
    still = [rehearse(scene, compiled=compiled, first_run=2, last_run=9) for compiled in (True, False)]
    np.testing.assert_allclose(still[0].moments_s, still[1].moments_s, rtol=0, atol=2e-6, equal_nan=True)
    assert (both[0].moments_s != still[0].moments_s).any()
