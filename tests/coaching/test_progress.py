"""Progress corrected for difficulty, standards and who is due, what to practise next."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest
from made_course import PEOPLE, MadeCourse, learned, made_course

from coldfield.coaching.learn import Learned
from coldfield.coaching.practise import group_needs, person_need
from coldfield.coaching.progress import RunPace, paces, trend
from coldfield.coaching.standards import Standard, held_to
from coldfield.coaching.timed import Moment, TimedRun
from coldfield.message import message
from coldfield.rescue.worth import Worth

TODAY = date(2026, 3, 1)


@cache
def _course() -> tuple[MadeCourse, Learned]:
    course = made_course(1, family=7, other_digging=False, runs=10)
    return course, learned(course)


def _pace(run: str, times: float) -> RunPace:
    return RunPace(run=run, times=times, low=times * 0.8, high=times * 1.25, pieces=5)


def test_property_runs_a_third_longer_are_told_about_a_third_longer() -> None:
    course, plain = _course()
    slow = tuple(
        replace(
            run,
            moments={
                burial: {name: replace(at, t_s=1.33 * at.t_s) for name, at in told.items()}
                for burial, told in run.moments.items()
            },
        )
        for run in course.runs
    )
    longer = learned(replace(course, runs=slow))
    # An interval far from the expectation is limited to 2.5 of its deviations, so slow ones count less.
    pairs = zip(paces(plain, None), paces(longer, None), strict=True)
    assert 1.15 < np.median([other.times / one.times for one, other in pairs]) < 1.4


def test_property_a_trend_is_told_only_beyond_its_doubt() -> None:
    rng = np.random.default_rng(4)
    days = {f"r{k}": 3.0 * k for k in range(10)}
    told = 0
    for _ in range(200):
        runs = [_pace(run, float(np.exp(0.17 * rng.normal()))) for run in days]
        told += trend(runs, days) is not None
    # Two standard errors of scatter without any trend: about one of twenty.
    assert told < 20
    falling = [_pace(run, float(np.exp(-0.02 * day))) for run, day in days.items()]
    found = trend(falling, days)
    assert found is not None
    assert found.times_in_30_days == pytest.approx(np.exp(-0.6), rel=1e-6)
    assert trend(falling[:3], days) is None


def _timed(name: str, who: str, strike_s: float, airway_s: float, depth_m: float = 1.0) -> TimedRun:
    course, _ = _course()
    run = course.runs[0]
    burial = replace(run.drill.burials[0], depth_m=depth_m)
    drill = replace(run.drill, burials=(burial,))
    moments = {"probe_strike": Moment(t_s=strike_s, searcher=who), "airway": Moment(t_s=airway_s)}
    return replace(run, id=name, name=name, drill=drill, moments={burial.id: moments}, end_s=airway_s)


def test_contract_who_meets_a_standard_and_who_is_due() -> None:
    runs = [_timed("old", "ada", 100.0, 300.0), _timed("new", "ben", 400.0, 800.0)]
    held = {"old": date(2025, 1, 1), "new": date(2026, 2, 20)}
    strike = Standard(id="s", name="strike", what="strike", most_s=240.0, valid_days=365)
    told = held_to(strike, runs, held, PEOPLE, today=TODAY)
    # In the order of the people, not of their times.
    assert [one.person for one in told] == list(PEOPLE)
    assert {one.person: one.state for one in told} == {
        "ada": "due",
        "ben": "not met",
        "cem": "not tried",
        "dot": "not tried",
    }
    assert told[0].due == date(2026, 1, 1)
    # Digging and airways count for everybody in the run.
    airway = Standard(id="a", name="airway", what="airway", most_s=900.0)
    assert {one.state for one in held_to(airway, runs, held, PEOPLE, today=TODAY)} == {"met"}


@pytest.mark.parametrize("changes", [{"least_burials": 2}, {"least_depth_m": 1.5}])
def test_contract_a_run_that_does_not_fulfil_the_conditions_does_not_count(changes: dict) -> None:
    runs, held = [_timed("one", "ada", 100.0, 300.0)], {"one": TODAY}
    hard = Standard(id="s", name="x", what="strike", most_s=240.0, **changes)
    assert {one.state for one in held_to(hard, runs, held, PEOPLE, today=TODAY)} == {"not tried"}


def _worth(code: str, survivors: float, minutes: float, counts: bool = True) -> Worth:
    return Worth(
        change=message(code),
        gain_survivors=survivors,
        standard_error=0.001,
        gain_minutes=minutes,
        minutes_standard_error=0.01,
        helps_share=0.9,
        counts=counts,
    )


def test_contract_the_group_practises_what_frees_most_airways_in_time() -> None:
    told = group_needs(
        [
            [
                _worth("change.digging_faster", 0.02, 1.0),
                _worth("change.fine_faster", 0.03, 0.4),
                _worth("change.signal_faster", 0.05, 0.5, counts=False),
                _worth("change.one_more_shovel", 0.5, 3.0),
            ]
        ]
    )
    assert [need.phase for need in told] == ["fine", "dig"]
    assert all(need.exercise.source.code for need in told)


def test_property_a_person_who_is_slow_in_fine_search_practises_fine_search() -> None:
    course, _ = _course()
    slow = []
    for run in course.runs:
        moments = {}
        for burial, told in run.moments.items():
            late = 0.0
            moments[burial] = {}
            for name, at in told.items():
                if name == "lowest_reading" and at.searcher == "ada":
                    late = 120.0
                moments[burial][name] = replace(at, t_s=at.t_s + late)
        slow.append(replace(run, moments=moments))
    of = learned(replace(course, runs=tuple(slow)))
    need = person_need(of, "ada")
    assert need.phase == "fine"
    assert need.seconds > 30.0
    assert need.exercise is not None
    nobody = person_need(of, "somebody new")
    assert (nobody.phase, nobody.exercise) == (None, None)
