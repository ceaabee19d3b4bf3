from __future__ import annotations

from dataclasses import replace
from math import cos, sin, sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_drills import burial, drawn_drill, drill, searcher, straight_lanes

from coldfield.beacon.envelope_detection import probability_table
from coldfield.drill import Drill
from coldfield.errors import BadInput
from coldfield.rescue.draws import Draws, Purpose
from coldfield.rescue.kernel.draws import four
from coldfield.rescue.kernel.moves import pace
from coldfield.rescue.kernel.runs import packed, play_runs
from coldfield.rescue.player.play import play
from coldfield.rescue.player.receiver import detection_table
from coldfield.rescue.rehearsal import Scene, rehearse
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.search.lanes.pace import STEEPEST_RISE, level_metres

FIELDS = ("first_signal_s", "turn_s", "within_10_m_s", "fine_start_s", "lowest_reading_s")
FIELDS += ("probe_strike_s", "airway_s")


def assert_equal_events(made: Drill, run: int, rules: Settings) -> None:
    # The two programs share no code; only the last bits of positions may differ: 1e-6 s is far above
    # that and far below any pulse period.
    lanes = straight_lanes(made)
    plain = play(made, lanes, seed=9, run=run, second=lanes, settings=rules)
    kernel = play_runs(packed(made, lanes, lanes, rules), seed=9, first_run=run, last_run=run + 1)
    moments = [[getattr(b, name) for name in FIELDS] for b in plain.burials]
    np.testing.assert_allclose(kernel.moments_s[0], moments, rtol=0, atol=1e-6, equal_nan=True)
    assert kernel.failure[0].tolist() == [b.failure for b in plain.burials]
    ids = [s.id for s in made.searchers]
    assert [None if k < 0 else ids[k] for k in kernel.finder[0]] == [b.finder for b in plain.burials]
    assert kernel.events[0] == plain.events
    assert kernel.end_s[0] == pytest.approx(plain.end_s, abs=1e-6)


@pytest.mark.parametrize("batch", range(10))
def test_independent_route_two_programs_of_one_model_give_equal_events(batch: int) -> None:
    # 200 drills in all: one to four burials, one to five people, slopes, faults, missing gear.
    for number in range(20 * batch, 20 * batch + 20):
        horizon = 3600.0 if number % 5 == 0 else 600.0
        assert_equal_events(drawn_drill(number), number, replace(SETTINGS, horizon_s=horizon))


@pytest.mark.parametrize(
    "change", [{"definite": True}, {"finder_digs": True}, {"searchers_per_missing_set": 1}]
)
def test_independent_route_equal_events_under_other_settings(change: dict[str, object]) -> None:
    for number in range(200, 208):
        rules = replace(SETTINGS, horizon_s=900.0, **change)
        assert_equal_events(drawn_drill(number), number, rules)


def test_independent_route_philox_written_out_is_numpys() -> None:
    # Salmon et al. 2011; numpy's implementation as the other witness, equal to the last bit.
    rng = np.random.default_rng(0)
    for purpose in Purpose:
        seed, run, searcher_, source, index = (int(v) for v in rng.integers(0, 2**62, 5))
        expected = Draws(seed=seed, run=run).four(purpose, searcher=searcher_, source=source, index=index)
        assert four(seed, run, int(purpose), searcher_, source, index) == expected
    assert four(1, 0, 3, 0, 0, 0) == Draws(seed=1, run=0).four(Purpose.START)


@pytest.mark.parametrize("antennas", [1, 2, 3])
def test_independent_route_detection_table_by_non_central_chi_square(antennas: int) -> None:
    # Marcum's Q by quadrature in the kernel, by the non-central chi-square distribution in the player.
    np.testing.assert_allclose(detection_table(antennas), probability_table(antennas), rtol=0, atol=1e-12)


def test_contract_a_run_is_the_same_alone_and_in_company() -> None:
    made = drill([burial(), burial("B", (33.0, 12.0))], [searcher(), searcher("s2")])
    lanes = straight_lanes(made)
    whole = rehearse(Scene(drill=made, lanes=lanes, seed=7), first_run=0, last_run=40)
    part = rehearse(Scene(drill=made, lanes=lanes, seed=7), first_run=25, last_run=30)
    np.testing.assert_array_equal(part.moments_s, whole.moments_s[25:30])
    np.testing.assert_array_equal(part.failure, whole.failure[25:30])


def test_independent_route_reference_and_kernel_agree_where_burials_lie_anywhere() -> None:
    made = drill([burial(), burial("B")], [searcher(), searcher("s2")])
    lanes = straight_lanes(made)
    both = [
        rehearse(
            Scene(drill=made, lanes=lanes, seed=5, anywhere=True), first_run=0, last_run=8, compiled=compiled
        )
        for compiled in (True, False)
    ]
    np.testing.assert_allclose(both[0].moments_s, both[1].moments_s, rtol=0, atol=2e-6, equal_nan=True)
    assert len(np.unique(both[0].column("turn")[:, 0])) == 8


def test_contract_bad_lanes_and_people_are_refused() -> None:
    made = drill()
    with pytest.raises(BadInput, match="is not a searcher"):
        packed(replace(made, searchers=(searcher("x"),)), straight_lanes(made), None, SETTINGS)
    with pytest.raises(BadInput, match="at least one"):
        packed(replace(made, searchers=()), straight_lanes(made), None, SETTINGS)


@given(way_rad=st.floats(0.0, 6.28), slope_rad=st.floats(0.0, 1.2))
def test_contract_the_kernel_walks_at_the_pace_of_the_lanes(way_rad: float, slope_rad: float) -> None:
    # Speed along a direction on the snow there, level metres of a leg here; 1e-12.
    rules = SimpleNamespace(sin_slope=sin(slope_rad), steepest=STEEPEST_RISE, travel=1.0)
    dx, dy = cos(way_rad), sin(way_rad)
    rise = dy * rules.sin_slope
    level = float(level_metres(sqrt(max(1.0 - rise * rise, 0.0)), rise))
    assert pace.py_func(rules, dx, dy) * level == pytest.approx(1.0, rel=1e-12)
