"""What is learned about made groups, compared with the truth; and honest bands for held-out runs."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from made_course import PEOPLE, Honest, MadeCourse, honesty, learned, made_course

from amount import amount
from coldfield.coaching.difficulty import CONSTANTS, NAMES
from coldfield.coaching.learn import EIGHT_OF_TEN, Learned
from coldfield.coaching.timed import Moment, TimedRun, intervals
from coldfield.drill import SKILLS

FAMILY = 7


@cache
def _many() -> list[tuple[MadeCourse, Learned]]:
    made = [made_course(k, family=FAMILY, other_digging=False, runs=20) for k in range(12)]
    return [(course, learned(course)) for course in made]


def _truth(course: MadeCourse, name: str) -> float:
    """The mean true shift of the group's people from the table."""
    table = getattr(SKILLS[course.skill], name)
    return float(np.mean([np.log(getattr(course.members[who], name) / table) for who in PEOPLE]))


def _told(of: Learned, name: str) -> float:
    k = NAMES.index(name)
    return float(np.mean([of.shift(who)[0][k] for who in PEOPLE]))


@pytest.mark.parametrize("name", ["dig_rate_kg_s", "reaction_s", "fine_speed_m_s"])
def test_independent_route_what_is_learned_follows_what_the_people_are(name: str) -> None:
    truth = [_truth(course, name) for course, _ in _many()]
    told = [_told(of, name) for _, of in _many()]
    assert np.corrcoef(truth, told)[0, 1] > 0.6
    # Closer to the truth than the setting.
    assert np.mean(np.square(np.subtract(told, truth))) < 0.7 * np.mean(np.square(truth))


def test_independent_route_eight_of_ten_people_lie_within_their_band() -> None:
    inside = []
    for course, of in _many():
        for who in PEOPLE[:2]:
            shift, spread, _ = of.shift(who)
            for k, line in enumerate(CONSTANTS):
                if of.is_learned(who)[k]:
                    table = getattr(SKILLS[course.skill], line.name)
                    truth = np.log(getattr(course.members[who], line.name) / table)
                    inside.append(abs(shift[k] - truth) < EIGHT_OF_TEN * spread[k])
    assert len(inside) > 80
    assert 0.7 < np.mean(inside) < 0.92


@cache
def _honest(other_digging: bool) -> Honest:
    return honesty(groups=amount(6, desk=24), family=FAMILY, other_digging=other_digging)


@pytest.mark.parametrize("other_digging", [False, True], ids=["digging as ours", "other digging"])
def test_independent_route_left_out_runs_fall_into_bands_called_eight_of_ten(other_digging: bool) -> None:
    # Some groups here; 60 and more in bench/coaching_honesty.py, with the figures in docs/coaching.md.
    told = _honest(other_digging)
    assert told.low <= 0.85
    assert told.high >= 0.75
    assert told.width_ratio < 0.95


def test_property_more_runs_tell_more() -> None:
    course = made_course(1, family=FAMILY, other_digging=False, runs=20)
    few = learned(replace(course, runs=course.runs[:4]))
    many = learned(course)
    k = NAMES.index("dig_rate_kg_s")
    assert many.shift(None)[1][k] < few.shift(None)[1][k] < few.shift(None)[2][k]


def test_property_without_runs_everything_stays_as_it_is_set() -> None:
    course = made_course(1, family=FAMILY, other_digging=False, runs=5)
    none = learned(replace(course, runs=()))
    assert not none.told_enough
    assert not none.shift(None)[0].any()


def test_property_digging_is_the_groups_not_a_persons() -> None:
    course, of = _many()[1]
    group, person = of.shift(None), of.shift(PEOPLE[0])
    k = NAMES.index("dig_rate_kg_s")
    assert person[0][k] == group[0][k]
    assert of.is_learned(None)[k]
    assert not of.is_learned(PEOPLE[0])[k]
    assert course.runs


def test_property_a_joke_run_is_named_and_moves_little() -> None:
    course = made_course(2, family=FAMILY, other_digging=False, runs=12)
    run = course.runs[3]
    joke = {b: {**told} for b, told in run.moments.items()}
    at = joke["A"]["airway"]
    joke["A"]["airway"] = replace(at, t_s=at.t_s + 2400.0)
    spoilt = (*course.runs[:3], replace(run, moments=joke, name="the joke"), *course.runs[4:])
    plain, told = learned(course), learned(replace(course, runs=spoilt))
    assert any(one.run_name == "the joke" and one.interval.end == "airway" for one in told.outliers)
    k = NAMES.index("dig_rate_kg_s")
    assert abs(told.shift(None)[0][k] - plain.shift(None)[0][k]) < 0.5 * plain.shift(None)[1][k]


def _one(moments: dict, end_s: float) -> TimedRun:
    run = made_course(1, family=FAMILY, other_digging=False, runs=5).runs[0]
    plan = replace(run.drill, burials=run.drill.burials[:1])
    return replace(run, drill=plan, moments={"A": moments}, end_s=end_s)


def test_contract_a_phase_that_never_ended_is_kept() -> None:
    told = intervals(_one({"first_signal": Moment(t_s=40.0)}, end_s=900.0))
    assert [(i.begin, i.end, i.ended, i.seconds) for i in told] == [
        ("alarm", "first_signal", True, 40.0),
        ("first_signal", "probe_strike", False, 860.0),
    ]


def test_contract_whatever_was_pressed_is_used() -> None:
    told = intervals(
        _one({"probe_strike": Moment(t_s=200.0, searcher="ada"), "airway": Moment(t_s=500.0)}, 500.0)
    )
    assert [(i.begin, i.end, i.seconds, i.searcher) for i in told] == [
        ("alarm", "probe_strike", 200.0, "ada"),
        ("probe_strike", "airway", 300.0, None),
    ]


def test_contract_a_moment_before_the_one_it_follows_is_left_out() -> None:
    told = intervals(
        _one(
            {
                "first_signal": Moment(t_s=80.0),
                "lowest_reading": Moment(t_s=20.0),
                "probe_strike": Moment(t_s=90.0),
            },
            90.0,
        )
    )
    assert [i.end for i in told] == ["first_signal", "probe_strike"]


def test_contract_digging_that_nobody_timed_is_no_digging_that_never_ended() -> None:
    told = intervals(_one({"probe_strike": Moment(t_s=200.0)}, end_s=1500.0))
    assert [i.end for i in told] == ["probe_strike"]
