"""Live minutes: the same runs and draws as a rehearsal, only few at first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coldfield.app.demo.demo import demo_drill
from coldfield.app.rehearsals import live
from coldfield.app.rehearsals.document import rehearsal_answer
from coldfield.app.rehearsals.live import lanes_of, live_minutes, live_runs
from coldfield.app.rehearsals.rehearse import rehearse_drill
from coldfield.drill import Drill
from coldfield.errors import BadInput, Refused

DEMO = demo_drill()
NARROW = replace(DEMO, conditions=replace(DEMO.conditions, strip_width_m=24.0))


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    """Start without cached answers of other tests."""
    live._settled.cache_clear()


def of_size(burials: int, people: int) -> Drill:
    return replace(
        NARROW,
        burials=tuple(replace(NARROW.burials[0], id=f"B{k}") for k in range(burials)),
        searchers=tuple(replace(NARROW.searchers[0], id=f"p{k}") for k in range(people)),
    )


@pytest.mark.parametrize(("burials", "people", "least"), [(1, 1, 200), (2, 4, 200), (6, 12, 60), (7, 13, 1)])
def test_contract_a_moving_drill_has_its_least_runs(burials: int, people: int, least: int) -> None:
    assert live_runs(of_size(burials, people), settled=False) >= least


def test_contract_a_settled_drill_has_two_thousand_runs_and_a_huge_one_fewer() -> None:
    assert live_runs(of_size(6, 12), settled=True) == 2000
    assert live_runs(of_size(20, 40), settled=True) < 2000


def test_independent_route_settled_minutes_are_those_of_the_rehearsal(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(live, "SETTLED_RUNS", 300)
    told = live_minutes(NARROW, settled=True)
    rehearsed = rehearsal_answer(rehearse_drill(NARROW, runs=300, seed=live.SEED))
    assert told.all_clear == rehearsed.all_clear
    assert told.strip_width_m == rehearsed.strip_width_m


def test_property_common_draws_tell_a_deeper_burial_apart_with_few_runs() -> None:
    moved = replace(NARROW.burials[0], depth_m=NARROW.burials[0].depth_m + 0.3)
    deeper = replace(NARROW, burials=(moved, *NARROW.burials[1:]))
    before, after = (live_minutes(one).all_clear.seconds for one in (NARROW, deeper))
    assert before.mean is not None
    assert after.mean is not None
    assert before.mean < after.mean
    assert live_minutes(NARROW) == live_minutes(NARROW)


def test_contract_lanes_are_laid_once_while_a_burial_moves_and_anew_for_another_width() -> None:
    moved = replace(NARROW.burials[0], position_m=(50.0, 50.0), depth_m=1.7)
    shovel = replace(NARROW.searchers[0], shovel=False)
    dragged = replace(NARROW, burials=(moved, *NARROW.burials[1:]), searchers=(shovel, *NARROW.searchers[1:]))
    assert lanes_of(dragged)[0] is lanes_of(NARROW)[0]
    wider = replace(NARROW, conditions=replace(NARROW.conditions, strip_width_m=30.0))
    lanes = lanes_of(wider)[0]
    assert lanes is not None
    assert lanes.strip_width_m == 30.0


def test_contract_without_a_width_the_lanes_follow_receivers_sets_and_noise() -> None:
    noisy = replace(DEMO, conditions=replace(DEMO.conditions, noise_rise_db=6.0))
    quiet, loud = lanes_of(DEMO)[0], lanes_of(noisy)[0]
    assert quiet is not None
    assert loud is not None
    assert loud.strip_width_m < quiet.strip_width_m


def test_contract_nobody_with_a_set_and_nobody_at_all() -> None:
    silent = replace(NARROW, burials=tuple(replace(b, transmitter=None) for b in NARROW.burials))
    assert live_minutes(silent).strip_width_m is None
    for broken in (replace(NARROW, burials=()), replace(NARROW, searchers=())):
        with pytest.raises(BadInput):
            live_minutes(broken)


def test_contract_work_that_nobody_waits_for_ends() -> None:
    with pytest.raises(Refused):
        live_minutes(NARROW, settled=True, cancelled=lambda: True)


def test_contract_a_drill_that_was_settled_before_is_answered_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    drill = replace(demo_drill(), name="settled before")
    first = live.live_minutes(drill, settled=True)
    monkeypatch.setattr(live, "play_all", None)
    assert live.live_minutes(replace(drill, name="by another name"), settled=True) is first
    with pytest.raises(TypeError):
        live.live_minutes(drill)
    deeper = replace(drill.burials[0], depth_m=drill.burials[0].depth_m + 0.1)
    with pytest.raises(TypeError):
        live.live_minutes(replace(drill, burials=(deeper, *drill.burials[1:])), settled=True)
