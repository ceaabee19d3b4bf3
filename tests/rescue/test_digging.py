from __future__ import annotations

from math import radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.drill import SKILLS
from coldfield.errors import BadInput, OutOfModel
from coldfield.rescue.digging import (
    DIGGING,
    crew_rate_kg_s,
    places,
    seconds_to_airway,
    snow_to_move_kg,
    trench_length_m,
)
from coldfield.rescue.order import Located, dig_orders
from coldfield.survival.curves import DEFAULT
from published import from_memory, published

DEPTH = st.floats(0.2, 3.5)
SLOPE = st.floats(0.0, 0.7)
CREW = st.lists(st.floats(0.2, 1.5), min_size=1, max_size=12)


def test_published_trench_is_half_as_long_again_as_deep() -> None:
    share = published("digging")["length_over_depth"]
    assert trench_length_m(1.5, 0.0) == pytest.approx(1.5 * share)


def test_from_memory_trench_is_shorter_on_steep_ground() -> None:
    share = from_memory("digging")["length_over_depth_steep"]
    assert trench_length_m(1.5, radians(40.0)) == pytest.approx(1.5 * share)
    assert trench_length_m(1.5, 0.3) < trench_length_m(1.5, 0.1)


def test_published_nobody_moves_more_than_the_measured_ceiling() -> None:
    low, _ = published("digging")["short_effort_rate"]
    assert all(skill.dig_rate_kg_s < low for skill in SKILLS.values())


def test_published_case_of_two_shovels_lies_in_the_band() -> None:
    # An anecdote: 1.8 m, two shovels, reached 23 min after the avalanche; 5 to 10 min of it search.
    depth_m, shovels, minutes = published("digging")["case_two_shovels"]
    dig = seconds_to_airway(depth_m=depth_m, rates_kg_s=[1.1] * shovels)
    assert dig.low_s < (minutes - 10) * 60
    assert dig.high_s > (minutes - 5) * 60


def test_independent_route_a_short_dig_is_mass_over_rate() -> None:
    # Below 4 min nobody is tired: mass of the wedge over the summed rate, worked by hand.
    depth, density, rates = 0.6, 400.0, [1.0, 1.2]
    mass = 0.5 * (1.5 * depth) * DIGGING.bulk * DIGGING.width_m * depth * density
    assert seconds_to_airway(depth_m=depth, rates_kg_s=rates).seconds == pytest.approx(
        mass / 2.2 + DIGGING.uncover_s
    )


@examples(50)
@given(a=DEPTH, b=DEPTH, slope=SLOPE, crew=CREW)
def test_property_deeper_takes_longer(a: float, b: float, slope: float, crew: list[float]) -> None:
    shallow, deep = sorted((a, b))
    first, second = (
        seconds_to_airway(depth_m=d, rates_kg_s=crew, slope_rad=slope).seconds for d in (shallow, deep)
    )
    assert first <= second


@examples(50)
@given(depth=DEPTH, slope=SLOPE, crew=CREW, one_more=st.floats(0.2, 1.5))
def test_property_one_more_person_never_slows_a_dig(
    depth: float, slope: float, crew: list[float], one_more: float
) -> None:
    fewer, more = (
        seconds_to_airway(depth_m=depth, rates_kg_s=c, slope_rad=slope).seconds
        for c in (crew, [*crew, one_more])
    )
    assert more <= fewer + 1e-9


@examples(40)
@given(depth=DEPTH, slope=SLOPE, crew=CREW)
def test_property_band_holds_the_time_and_endless_shovels_leave_the_last_part_by_hand(
    depth: float, slope: float, crew: list[float]
) -> None:
    dig = seconds_to_airway(depth_m=depth, rates_kg_s=crew, slope_rad=slope)
    assert dig.low_s <= dig.seconds <= dig.high_s
    endless = seconds_to_airway(depth_m=depth, rates_kg_s=[1e9] * 20, slope_rad=slope)
    assert endless.seconds == pytest.approx(DIGGING.uncover_s, abs=1e-3)


def test_property_turns_keep_people_fresh() -> None:
    alone, taking_turns = (crew_rate_kg_s([1.0] * n, 2.0, 1000.0) for n in (2, 4))
    assert taking_turns > alone
    assert crew_rate_kg_s([], 2.0, 0.0) == 0.0


def test_contract_impossible_digs_are_refused() -> None:
    for bad in ({"rates_kg_s": []}, {"rates_kg_s": [0.0]}, {"depth_m": 0.0}, {"slope_rad": 1.5}):
        with pytest.raises(OutOfModel):
            seconds_to_airway(**{"depth_m": 1.0, "rates_kg_s": [1.0], **bad})
    assert places(0.3, 0.0) == 2.0
    assert snow_to_move_kg(1.0, 0.0, 400.0) > snow_to_move_kg(1.0, 0.6, 400.0)


# --- order ------------------------------------------------------------------------------------------

HOW = {"rate_kg_s": 1.1, "burial_to_alarm_s": 60.0}


def test_independent_route_two_burials_one_team_by_hand() -> None:
    burials = [
        Located(id="deep", depth_m=2.2, struck_s=200.0),
        Located(id="shallow", depth_m=0.6, struck_s=220.0),
    ]
    best = dig_orders(burials, people=1, **HOW)[0]
    times = {d: seconds_to_airway(depth_m=d, rates_kg_s=[1.1]).seconds for d in (2.2, 0.6)}
    shallow = 220.0 + times[0.6]
    deep = shallow + 60.0 + times[2.2]
    assert best.teams[0].burials == ("shallow", "deep")
    assert best.airway_s == pytest.approx({"deep": deep, "shallow": shallow})
    assert best.survivors == pytest.approx(float(DEFAULT.survival([deep + 60.0, shallow + 60.0]).sum()))


def test_independent_route_every_order_is_counted() -> None:
    # One person: n! orders. Two people, two burials: 2 orders together, 1 way apart.
    burials = [Located(id=n, depth_m=1.0, struck_s=100.0) for n in "abcd"]
    assert len(dig_orders(burials, people=1, **HOW)) == 24
    assert len(dig_orders(burials[:2], people=2, **HOW)) == 3


@examples(25)
@given(depths=st.lists(DEPTH, min_size=1, max_size=4), people=st.integers(1, 5))
def test_property_no_other_way_beats_the_first_one(depths: list[float], people: int) -> None:
    burials = [Located(id=str(k), depth_m=d, struck_s=100.0 + 40.0 * k) for k, d in enumerate(depths)]
    ways = dig_orders(burials, people=people, **HOW)
    assert ways[0].survivors == max(w.survivors for w in ways)
    assert all(sum(t.people for t in w.teams) == people for w in ways)
    assert all(sorted(n for t in w.teams for n in t.burials) == sorted(w.airway_s) for w in ways)
    more = dig_orders(burials, people=people + 1, **HOW)
    assert more[0].survivors >= ways[0].survivors - 1e-12


def test_contract_order_refuses_what_it_cannot_work_out() -> None:
    five = [Located(id=str(k), depth_m=1.0, struck_s=0.0) for k in range(5)]
    with pytest.raises(BadInput, match="1 to 4, not 5"):
        dig_orders(five, people=2, **HOW)
    with pytest.raises(BadInput, match="an id is used twice"):
        dig_orders([five[0], five[0]], people=2, **HOW)
    assert np.isfinite(dig_orders(five[:1], people=30, **HOW)[0].survivors)
