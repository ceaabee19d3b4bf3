from dataclasses import replace

import numpy as np
import pytest
from small_drills import PlainLane, PlainLanes, burial, drawn_drill, drill, searcher, straight_lanes

from coldfield.drill import SKILLS, Antenna, Receiver, Transmitter
from coldfield.errors import BadInput
from coldfield.rescue.played import Played
from coldfield.rescue.player.play import play
from coldfield.rescue.rehearsal import Scene, rehearse
from coldfield.rescue.settings import SETTINGS

ORDER = ("turn_s", "fine_start_s", "lowest_reading_s", "probe_strike_s", "airway_s")


def runs(made, count: int = 12, *, seed: int = 4, **settings) -> list[Played]:
    rules = replace(SETTINGS, **settings)
    return [play(made, straight_lanes(made), seed=seed, run=k, settings=rules) for k in range(count)]


def median(played: list[Played], moment: str = "airway_s", which: int = 0) -> float:
    return float(np.nanmedian([getattr(p.burials[which], moment) for p in played]))


@pytest.mark.parametrize("number", range(12))
def test_property_moments_follow_each_other_and_phases_add_up(number: int) -> None:
    made = drawn_drill(number)
    for b in play(made, straight_lanes(made), seed=1, run=number).burials:
        moments = [getattr(b, name) for name in ORDER]
        known = [m for m in moments if not np.isnan(m)]
        assert known == sorted(known)
        assert b.found == (b.failure == -1)
        assert b.found == (not np.isnan(b.airway_s))
        if b.found:
            assert np.nansum(list(b.durations_s().values())) == pytest.approx(b.airway_s)


@pytest.mark.parametrize("number", range(12))
def test_property_nobody_walks_faster_than_their_legs(number: int) -> None:
    made = drawn_drill(number)
    same = tuple(replace(s, skill=replace(s.skill, spread={})) for s in made.searchers)
    made = replace(made, searchers=same)
    quickest = max(max(s.skill.signal_speed_m_s, s.skill.coarse_speed_m_s) for s in made.searchers)
    for trace in play(made, straight_lanes(made), seed=2, run=number).traces:
        step = np.hypot(np.diff(trace.east_m), np.diff(trace.north_m))
        walked = np.array([phase != "line" for phase in trace.phase[:-1]])
        # Tobler's factor is at most exp(3.5 * 0.05) = 1.191, that of skis 1.15.
        assert (step <= 1.2 * 1.15 * quickest * np.diff(trace.t_s) + 1e-6)[walked].all()


def test_contract_same_key_same_run_other_key_other_run() -> None:
    made = drill()
    a, b, c = (play(made, straight_lanes(made), seed=s, run=0).burials[0] for s in (1, 1, 2))
    assert a == b
    assert a != c


def test_property_depth_beyond_every_probe_is_dug_for_at_the_lowest_reading() -> None:
    # No hole can strike, so there are two rounds of fine search and spiral, and the hole is wider.
    deep, reached = (
        runs(
            drill(
                [burial(depth_m=3.4)], [searcher(probe_length_m=length), searcher("s2", probe_length_m=2.4)]
            ),
            6,
        )
        for length in (2.4, 4.0)
    )
    assert all(p.burials[0].found for p in deep)
    assert median(deep, "probe_strike_s") > median(reached, "probe_strike_s") + 300.0
    assert median(deep) > 1.5 * median(reached)


def test_property_no_cliff_at_the_length_of_the_probe() -> None:
    # Bodies have thickness and are tilted: two centimetres of depth change hardly anything.
    above, below = (
        rehearse(Scene(drill=made, lanes=straight_lanes(made), seed=4), first_run=0, last_run=800)
        for made in (drill([burial(depth_m=d)], [searcher(f"s{k}") for k in range(4)]) for d in (2.39, 2.41))
    )
    assert abs(above.survival().mean() - below.survival().mean()) < 0.03


def test_property_level_antenna_at_2_m_every_found_run_leaves_coarse_search() -> None:
    level = burial(depth_m=2.0, antenna=Antenna(azimuth_rad=0.4, tilt_rad=0.0))
    weak = replace(level, transmitter=Transmitter(field_at_10m_a_per_m=0.5e-6))
    for made in (drill([level]), drill([weak])):
        played = runs(made, 10)
        assert sum(p.burials[0].found for p in played) >= 7
        assert all(not np.isnan(p.burials[0].fine_start_s) for p in played if p.burials[0].found)


def test_property_a_longer_probe_of_a_colleague_is_fetched() -> None:
    made = drill([burial(depth_m=2.8)], [searcher(), searcher("s2", probe_length_m=3.2)])
    played = runs(made, 8)
    assert sum(p.burials[0].found for p in played) >= 6
    assert {p.burials[0].finder for p in played if p.burials[0].found} == {"s2"}


def test_property_without_any_probe_people_dig_at_the_lowest_reading() -> None:
    for p in runs(drill(searchers=[searcher(probe_length_m=None)]), 4):
        assert p.burials[0].probe_strike_s == p.burials[0].lowest_reading_s


def test_property_burial_without_a_set_is_left_to_a_probe_line() -> None:
    people = [searcher(f"s{k}") for k in range(4)]
    near = replace(burial("B", (20.0, 2.0), 0.8), transmitter=None)
    far = replace(burial("C", (5.0, 39.0), 0.8), transmitter=None)
    played = runs(drill([burial(), near, far], people), 10)
    assert sum(p.burials[1].found for p in played) >= 4
    assert all(p.burials[2].failure == 5 for p in played)
    for p in played:
        assert np.isnan(p.burials[1].fine_start_s)
        if p.burials[1].found:
            assert p.burials[1].probe_strike_s > p.burials[0].probe_strike_s


def test_property_finders_go_on_while_others_dig() -> None:
    pair = [burial("A", (12.0, 20.0)), burial("B", (30.0, 33.0))]
    made = drill(pair, [searcher(f"s{k}") for k in range(4)])
    go_on, stay = runs(made, 8), runs(made, 8, finder_digs=True)
    both = [max(p.burials[0].probe_strike_s, p.burials[1].probe_strike_s) for p in go_on]
    later = [max(p.burials[0].probe_strike_s, p.burials[1].probe_strike_s) for p in stay]
    assert np.nanmedian(both) <= np.nanmedian(later)
    second = [max(p.burials, key=lambda b: b.probe_strike_s) for p in go_on]
    first = [min(p.burials, key=lambda b: b.probe_strike_s) for p in go_on]
    assert any(a.probe_strike_s < b.airway_s for a, b in zip(second, first, strict=True))


def test_property_a_set_nobody_can_hear_is_never_heard() -> None:
    deaf = searcher(receiver=Receiver(coaxial_range_m=2.0))
    far = drill([burial(at=(38.0, 38.0))], [deaf])
    assert {p.burials[0].failure for p in runs(far, 4)} == {0}


def test_property_a_set_left_on_goes_back_to_transmit_and_is_dealt_with() -> None:
    # One digs for many minutes; the other walks past again and again, looking for a second set.
    def strays(left_on: float) -> int:
        skill = replace(SKILLS["practised"], left_on_fraction=left_on)
        people = [
            replace(searcher(f"s{k}", receiver=Receiver(coaxial_range_m=9.0)), skill=skill) for k in (0, 1)
        ]
        made = drill([burial("A", (10.0, 10.0), 2.2), burial("B", (39.0, 2.0), 0.6)], people)
        round_trip = [[30.0, 5.0], [30.0, 38.0], [14.0, 38.0], [14.0, 5.0]]
        lanes = PlainLanes(
            (
                PlainLane("s0", np.array([[10.0, 0.0], [10.0, 40.0]])),
                PlainLane("s1", np.array(round_trip * 5)),
            )
        )
        rules = replace(SETTINGS, finder_digs=True)
        return sum(play(made, lanes, seed=2, run=k, settings=rules).strays for k in range(6))

    assert strays(1.0) > 0
    assert strays(0.0) == 0


def test_property_nobody_is_in_two_places() -> None:
    made = drawn_drill(5)
    for trace in play(made, straight_lanes(made), seed=1, run=0).traces:
        assert (np.diff(trace.t_s) >= 0.0).all()
        assert trace.at(trace.t_s[-1:]).shape == (1, 2)
        assert trace.phase_at(0.0) == "ready"


def test_contract_bad_figures_and_foreign_lanes_are_refused() -> None:
    made = drill()
    stuck = replace(searcher(), skill=replace(SKILLS["novice"], coarse_speed_m_s=0.0))
    with pytest.raises(BadInput, match="coarse_speed_m_s: must be above 0"):
        play(replace(made, searchers=(stuck,)), straight_lanes(made), seed=1, run=0)
    with pytest.raises(BadInput, match="'s1' is not a searcher"):
        play(replace(made, searchers=(searcher("x"),)), straight_lanes(made), seed=1, run=0)
    with pytest.raises(BadInput, match="at least one"):
        play(replace(made, searchers=()), straight_lanes(made), seed=1, run=0)
