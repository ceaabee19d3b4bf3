"""The phases of a run from its splits alone."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp

import pytest

from coldfield.app.demo.demo import demo_drill
from coldfield.debrief.clocks.run_splits import RunSplits, TimedSplit
from coldfield.debrief.phases.from_splits import TURN_S, split_phases, unknown_phases
from coldfield.debrief.phases.phase import Phase
from coldfield.drill.beliefs import from_10_m

Row = tuple[float, str | None, str | None, str]


def splits(*rows: Row) -> RunSplits:
    told = [
        TimedSplit(t_s=t, searcher=who, burial=where, split=kind, note="") for t, who, where, kind in rows
    ]
    return RunSplits(rows=tuple(sorted(told, key=lambda row: row.t_s)))


def spans(phases: Sequence[Phase]) -> dict[tuple[str | None, str], tuple[float, float]]:
    return {(one.burial, one.phase): (one.start_s, one.end_s) for one in phases}


def at(burial: str, who: str | None, *moments: float | None) -> list[Row]:
    kinds = ("first_signal", "within_10_m", "lowest_reading", "probe_strike", "airway_clear")
    return [(t, who, burial, kind) for kind, t in zip(kinds, moments, strict=True) if t is not None]


ALARM: Row = (0.0, None, None, "alarm")


def test_contract_five_phases_follow_from_five_splits() -> None:
    phases = split_phases("s1", splits(ALARM, *at("A", "s1", 60, 90, 150, 180, 420)), from_alarm=True)
    border = 90 + from_10_m().middle_s
    assert spans(phases) == {
        ("A", "signal"): (0, 60),
        ("A", "coarse"): (60, pytest.approx(border)),
        ("A", "fine"): (pytest.approx(border), 150),
        ("A", "probe"): (150, 180),
        ("A", "dig"): (180, 420),
    }
    by_phase = {one.phase: one for one in phases}
    assert by_phase["signal"].border_uncertainty_s == TURN_S
    assert by_phase["fine"].border_uncertainty_s <= max(150 - border, border - 90)
    assert all(one.length_m is None and one.flux_line_ratio is None for one in phases)


def test_contract_the_border_of_the_fine_search_stays_between_its_splits() -> None:
    usual = from_10_m()
    for lowest in (90.0, 95.0, 90.0 + usual.middle_s, 400.0):
        told = splits(ALARM, *at("A", "s1", 60, 90, lowest, None, None))
        fine = next(one for one in split_phases("s1", told, from_alarm=True) if one.phase == "fine")
        assert 90.0 <= fine.start_s <= lowest
        assert fine.border_uncertainty_s <= usual.middle_s * (exp(1.96 * usual.spread) - 1.0)


def test_contract_a_second_search_begins_where_the_first_ended() -> None:
    told = splits(ALARM, *at("A", "s1", 60, None, 100, 120, 300), *at("B", "s1", 200, None, 260, 280, 500))
    found = spans(split_phases("s1", told, from_alarm=True))
    assert found["A", "signal"] == (0, 60)
    assert found["B", "signal"] == (120, 200)
    assert ("A", "coarse") not in found
    assert ("A", "fine") not in found


def test_contract_splits_that_name_nobody_are_the_finders() -> None:
    told = splits(ALARM, *at("A", None, 60, 90, 150, None, 420), (180.0, "s2", "A", "probe_strike"))
    assert len(split_phases("s2", told, from_alarm=True)) == 5
    assert split_phases("s1", told, from_alarm=True) == []
    assert split_phases(None, told, from_alarm=True) == []


def test_contract_nobodys_second_signal_search_is_unknown_and_said() -> None:
    told = splits(ALARM, *at("A", None, 60, 90, 100, 120, 300), *at("B", None, 200, None, 260, 280, None))
    found = split_phases(None, told, from_alarm=True)
    assert ("A", "signal") in spans(found)
    assert ("B", "signal") not in spans(found)
    unknown = {
        (one.burial, one.phase): one.missing for one in unknown_phases(demo_drill().burials, found, told)
    }
    assert unknown == {
        ("B", "signal"): (),
        ("B", "coarse"): ("within_10_m",),
        ("B", "fine"): ("within_10_m",),
        ("B", "dig"): ("airway_clear",),
    }


def test_contract_without_an_alarm_no_signal_search_is_told() -> None:
    told = splits(*at("A", "s1", 0, 30, 90, 120, 300))
    found = split_phases("s1", told, from_alarm=False)
    assert ("A", "signal") not in spans(found)
    missing = {one.phase: one.missing for one in unknown_phases(demo_drill().burials[:1], found, told)}
    assert missing == {"signal": ("alarm",)}


def test_contract_splits_out_of_order_make_no_phase() -> None:
    found = spans(split_phases("s1", splits(ALARM, *at("A", "s1", 100, 60, 50, 40, 30)), from_alarm=True))
    assert set(found) == {("A", "signal")}
