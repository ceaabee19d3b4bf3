from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from coldfield.app.answers import said
from coldfield.app.debriefs.from_files import RunFiles, debrief
from coldfield.debrief.findings.finding import sized
from coldfield.debrief.findings.yardsticks import (
    EarlierPhase,
    EarlierRun,
    RehearsedPhase,
    Standard,
    against_bands,
    against_standards,
    bands_of,
    earlier_phases,
)
from coldfield.debrief.phases.phase import Phase
from coldfield.drill import Split, Splits
from coldfield.words import say
from made_walks import burial, drill, lane_then_flux_line, recorded_by, splits_of
from recorded_tracks import NOON

PEOPLE = (("s1", "Ines"), ("s2", "Bram"), ("s3", "Yuki"), ("s4", "Tomas"))


def kinds(document: dict[str, Any]) -> list[str]:
    return [finding["kind"] for finding in document["findings"]]


@pytest.mark.parametrize(
    ("kind", "size", "stated"),
    [("late_turn", 12.9, 12.0), ("wrong_way", 4.999, 4.0), ("fast_near", 0.89, 0.8), ("fast_near", 0.9, 0.9)],
)
def test_contract_what_is_stated_as_at_least_is_never_rounded_up(
    kind: str, size: float, stated: float
) -> None:
    assert sized(np.full(100, size), kind).said == stated


def test_contract_somebody_who_stands_apart_for_minutes_is_said_to_and_helpers_are_not() -> None:
    planned = drill(people=PEOPLE[:3])
    truth = lane_then_flux_line(planned)
    assert truth is not None
    end = truth.clear_s
    apart = recorded_by(
        np.array([0.0, 20, 40, end]), np.array([[5.0, 0], [5, 0], [5, 5], [5, 5]]), seed=1, file="s2.gpx"
    )
    helper = recorded_by(
        np.array([0.0, 30, truth.fine_s + 5, truth.fine_s + 25, end]),
        np.array([[50.0, -10], [50, 26], [50, 60], [23, 42], [22.5, 41]]),
        seed=2,
        file="s3.gpx",
    )
    finder = recorded_by(truth.t_s, truth.position_m, seed=3)
    document = said(
        debrief(RunFiles(drill=planned, recorded=(finder, apart, helper), splits=splits_of(truth))).document
    )
    idle = [f for f in document["findings"] if f["kind"] == "idle"]
    assert [f["searcher"] for f in idle] == ["s2"]
    assert idle[0]["numbers"]["seconds"] > 120  # drift of the track hides some of it
    assert [p["phase"] for p in document["searchers"][2]["phases"]] == ["signal", "dig"]


def test_contract_a_crowd_at_one_burial_while_another_set_is_alone_is_said() -> None:
    far = burial("B", (50.0, 75.0), azimuth_deg=100.0)
    planned = drill(burial(), far, people=PEOPLE)
    truth = lane_then_flux_line(planned)
    assert truth is not None
    late = truth.clear_s + 200.0
    finder = recorded_by(truth.t_s, truth.position_m, seed=1)
    crowd = [
        recorded_by(
            np.array([0.0, truth.fine_s, truth.fine_s + 30.0, truth.clear_s]),
            np.array([[40.0, -10.0], [40.0, 41.0], [23.0, 40.0 + i], [22.0, 40.5 + i]]),
            seed=i + 2,
            file=f"s{i}.gpx",
        )
        for i in (2, 3)
    ]
    last = recorded_by(
        np.array([0.0, truth.clear_s, late]),
        np.array([[5.0, -10], [5.0, -8], [50.0, 75.0]]),
        seed=9,
        file="s4.gpx",
    )
    rows = (
        *splits_of(truth).rows,
        Split(split="probe_strike", searcher="s4", burial="B", time_unix_s=NOON + late - 5),
    )
    document = said(
        debrief(RunFiles(drill=planned, recorded=(finder, *crowd, last), splits=Splits(rows=rows))).document
    )
    bunched = [f for f in document["findings"] if f["kind"] == "bunched"]
    assert [f["burial"] for f in bunched] == ["A"]
    assert bunched[0]["minutes"] > 2.0


def test_contract_findings_come_in_three_groups_and_by_cost() -> None:
    planned = drill()
    truth = lane_then_flux_line(planned, reaction_s=30.0)
    assert truth is not None
    seen = Split(split="observation", note="probe left in", time_unix_s=NOON + 5)
    run = RunFiles(
        drill=planned,
        recorded=(recorded_by(truth.t_s, truth.position_m, seed=1, white_m=0.0, bias_m=0.0),),
        splits=Splits(rows=(*splits_of(truth).rows, seen)),
    )
    document = said(
        debrief(
            run, standards=(Standard(what="dig", most_s=60.0), Standard(what="probe", most_s=99.0))
        ).document
    )
    groups = [f["group"] for f in document["findings"]]
    costs = [f["minutes"] for f in document["findings"] if f["group"] == "cost"]
    assert groups == sorted(groups)  # cost, good, noted
    assert set(groups) == {"cost", "good", "noted"}
    assert costs == sorted(costs, reverse=True)
    assert all(f["exercise"]["practise"] for f in document["findings"] if f["group"] == "cost")
    assert kinds(document)[0] == "standard_missed"
    assert {"late_turn", "observation", "standard_met"} <= set(kinds(document))


def test_contract_a_burial_nobody_struck_is_said() -> None:
    planned = drill(burial(), burial("B", (50.0, 75.0)))
    truth = lane_then_flux_line(planned)
    assert truth is not None
    document = said(
        debrief(
            RunFiles(
                drill=planned,
                recorded=(recorded_by(truth.t_s, truth.position_m, seed=1),),
                splits=splits_of(truth),
            )
        ).document
    )
    assert [f["burial"] for f in document["findings"] if f["kind"] == "not_found"] == ["B"]


def test_contract_bands_need_five_runs_and_leave_out_what_was_not_found() -> None:
    values = np.array([[10.0, np.nan], [20, np.nan], [30, 1], [40, 2], [50, np.nan]])
    durations = dict.fromkeys(("signal", "coarse", "fine", "probe", "dig"), values)
    bands = bands_of(durations, ["A", "B"])
    assert {b.burial for b in bands} == {"A"}
    assert (bands[0].p50_s, bands[0].runs) == (30.0, 5)


@pytest.mark.parametrize(
    ("seconds", "doubt", "kind"),
    [
        (100.0, 20.0, "long_fine"),
        (65.0, 20.0, None),
        (30.0, 5.0, None),
        (8.0, 1.0, "quick_fine"),
        (8.0, 5.0, None),
    ],
)
def test_contract_a_phase_is_held_against_its_band_only_beyond_its_doubt(
    seconds: float, doubt: float, kind: str | None
) -> None:
    band = RehearsedPhase(burial="A", phase="fine", p10_s=10.0, p50_s=30.0, p90_s=60.0, runs=200)
    phase = Phase(burial="A", phase="fine", start_s=50.0, end_s=50.0 + seconds, border_uncertainty_s=doubt)
    finding = against_bands(phase, [band], searcher="s1", name="Ines")
    assert (finding.kind if finding else None) == kind


def test_property_a_rehearsed_run_that_found_nobody_is_later_than_every_other_one_in_both_bands() -> None:
    # Two of ten runs never found the burial: the 90th percentile is unknown, the median is that of all ten
    # runs.
    never = np.array([[10.0 * k] for k in range(1, 9)] + [[np.inf], [np.inf]])
    no_such_phase = np.full((10, 1), np.nan)
    durations = {
        p: never if p == "fine" else no_such_phase for p in ("signal", "coarse", "fine", "probe", "dig")
    }
    (band,) = bands_of(durations, ["A"], scatter_s=durations)
    assert (band.p10_s, band.p50_s, band.p90_s, band.runs) == (pytest.approx(19.0), 55.0, None, 10)
    assert band.scatter_s == (pytest.approx(19.0), None)
    long = Phase(burial="A", phase="fine", start_s=0.0, end_s=900.0, border_uncertainty_s=1.0)
    quick = replace(long, end_s=12.0)
    assert against_bands(long, [band], searcher="s1", name="Ines") is None
    finding = against_bands(quick, [band], searcher="s1", name="Ines")
    assert finding is not None
    assert "nine of ten took 19 s or longer" in say(finding.text)
    assert "p90_s" not in finding.numbers


def test_contract_a_standard_is_met_or_missed_only_beyond_the_doubt() -> None:
    standard = [Standard(what="fine", most_s=60.0)]
    found = [
        [f.kind for f in against_standards(s, 10.0, "fine", standard, searcher="s1", burial="A")]
        for s in (40.0, 55.0, 65.0, 90.0)
    ]
    assert found == [["standard_met"], [], [], ["standard_missed"]]


def test_contract_earlier_runs_are_summed_up_by_phase() -> None:
    phases = [Phase(burial="A", phase="fine", start_s=10.0, end_s=end) for end in (30.0, 50.0, 40.0)]
    signal = Phase(burial=None, phase="signal", start_s=0.0, end_s=9.0)
    runs = [
        EarlierRun(model_version=None, phases=(*phases, signal)),
        EarlierRun(model_version=None, phases=()),
    ]
    assert earlier_phases(runs) == (EarlierPhase(phase="fine", times=3, best_s=20.0, p50_s=30.0),)
