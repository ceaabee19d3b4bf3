from __future__ import annotations

import numpy as np
import pytest

from coldfield.debrief.clocks.keeper_clock import KeeperClock, keeper_clock
from coldfield.debrief.clocks.run_splits import timed
from coldfield.debrief.tracks.track import clean
from coldfield.drill import Split, Splits
from coldfield.words import say
from made_walks import drill, lane_then_flux_line, recorded_by
from recorded_tracks import BOWL, NOON

PLANNED = drill()
TRUTH = lane_then_flux_line(PLANNED)
assert TRUTH is not None
WAITED_S = 120.0


def clock_told(late_s: float, kinds: tuple[str, ...], *, seed: int = 5, free: bool = False) -> KeeperClock:
    """Waiting, the walk, and another minute, recorded by a usual phone; the keeper's clock is slow."""
    assert TRUTH is not None
    t = np.concatenate([[-WAITED_S], TRUTH.t_s, [TRUTH.clear_s + 60.0]])
    way = np.vstack([TRUTH.position_m[:1], TRUTH.position_m, TRUTH.position_m[-1:]])
    track = clean([recorded_by(t, way, seed=seed)], BOWL)
    moments = {
        "alarm": 0.0,
        "lowest_reading": TRUTH.low_s,
        "probe_strike": TRUTH.strike_s,
        "airway_clear": TRUTH.clear_s,
    }
    rows = [
        Split(
            split=kind,
            searcher=None if kind == "alarm" else "s1",
            burial=None if kind == "alarm" else "A",
            time_unix_s=NOON + round(moments[kind]) + late_s,
        )
        for kind in kinds
    ]
    told = timed(Splits(rows=tuple(rows)), alarm_unix_s=None, zero_unix_s=0.0)
    return keeper_clock({"s1": track}, told, PLANNED, free=free)


ALL = ("alarm", "lowest_reading", "probe_strike", "airway_clear")


@pytest.mark.parametrize("late_s", [-1500.0, -400.0, -150.0, 240.0, 900.0])
def test_contract_a_clock_that_is_minutes_off_is_found_within_what_is_stated(late_s: float) -> None:
    told = clock_told(late_s, ALL)
    assert abs(told.shift_s + late_s) <= told.doubt_s
    assert told.doubt_s <= 90.0
    assert "clock shifted by" in say(told.notes[0])


def test_contract_a_clock_that_is_right_is_left_alone() -> None:
    for seed in range(6):
        told = clock_told(0.0, ALL, seed=seed)
        assert told.shift_s == 0.0
        assert told.doubt_s <= 15.0


def test_contract_a_clock_that_nothing_tells_of_is_said_to_be_unchecked() -> None:
    assert not keeper_clock({}, (), PLANNED, free=False).checked
    told = clock_told(0.0, ("probe_strike",))
    assert not told.checked
    assert told.shift_s == 0.0
    assert "would not show it" in say(told.notes[0])


def test_contract_splits_without_a_time_of_day_are_laid_where_they_fit() -> None:
    told = clock_told(-700.0, ALL, free=True)
    assert abs(told.shift_s - 700.0) <= told.doubt_s


def test_property_people_who_set_off_together_and_search_tell_the_alarm_though_others_stand_about_later() -> (
    None
):
    # Four people wait for two minutes, search, and stand; two set off again a minute and a half later. Only
    # what all do together fits an alarm, so a clock error of four minutes is known to half a minute.
    t = np.array([-WAITED_S, 0.0, 100.0, 190.0, 230.0, 400.0])
    tracks = {}
    for i in range(4):
        north = [0.0, 0.0, 110.0, 110.0, 150.0 if i < 2 else 110.0, 150.0 if i < 2 else 110.0]
        way = np.column_stack([np.full(t.size, 15.0 * i), north])
        tracks[f"s{i}"] = clean([recorded_by(t, way, seed=i)], BOWL)
    alarm = Splits(rows=(Split(split="alarm", time_unix_s=NOON + 240.0),))
    told = keeper_clock(tracks, timed(alarm, alarm_unix_s=None, zero_unix_s=0.0), PLANNED, free=False)
    assert abs(told.shift_s + 240.0) <= told.doubt_s
    assert told.doubt_s <= 30.0
    assert told.checked
