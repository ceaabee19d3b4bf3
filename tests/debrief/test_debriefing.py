from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.app.answers import plain, said
from coldfield.app.debriefs.from_files import RunFiles, debrief
from coldfield.app.hearing.at_place import signal_at
from coldfield.drill import Drill, Split, Splits
from coldfield.drill.recorded import Recorded
from coldfield.errors import BadInput
from coldfield.files.debrief_json import read_debrief
from coldfield.words import say
from made_walks import burial, drill, lane_then_flux_line, recorded_by, splits_of
from recorded_tracks import NOON, walk

NO_SPLITS = Splits()


def document(
    planned: Drill, *recorded: Recorded, splits: Splits = NO_SPLITS, **options: Any
) -> dict[str, Any]:
    return said(debrief(RunFiles(drill=planned, recorded=recorded, splits=splits), **options).document)


@pytest.fixture(scope="module")
def perfect() -> tuple[Drill, Any, dict[str, Any]]:
    planned = drill()
    truth = lane_then_flux_line(planned)
    assert truth is not None
    track = recorded_by(truth.t_s, truth.position_m, seed=1, white_m=0.0, bias_m=0.0)
    return planned, truth, document(planned, track, splits=splits_of(truth))


def test_independent_route_phases_of_a_noiseless_walk_are_the_true_ones(perfect) -> None:
    _, truth, made = perfect
    phases = {p["phase"]: p for p in made["searchers"][0]["phases"]}
    assert list(phases) == ["signal", "coarse", "fine", "probe", "dig"]
    for name, end in (("signal", truth.turn_s), ("coarse", truth.fine_s)):
        assert abs(phases[name]["end_s"] - end) <= phases[name]["border_uncertainty_s"] + 1.0
    for name, end in (("fine", truth.low_s), ("probe", truth.strike_s), ("dig", truth.clear_s)):
        assert phases[name]["end_s"] == round(end)
    assert phases["coarse"]["flux_line_ratio"] == pytest.approx(1.0, abs=0.05)
    assert phases["coarse"]["length_m"] == pytest.approx(truth.flux_line.length_m, rel=0.1)


def test_independent_route_audible_seconds_are_those_of_signal_at_each_true_second(perfect) -> None:
    planned, truth, made = perfect
    seconds = np.arange(0.0, truth.clear_s)
    places = np.column_stack([np.interp(seconds, truth.t_s, truth.position_m[:, i]) for i in (0, 1)])
    heard = sum(
        bool(signal_at(planned, (float(x), float(y))).burials[0].audible)
        for x, y in places
        if np.hypot(x - 22, y - 41) > 1.0
    ) + sum(np.hypot(x - 22, y - 41) <= 1.0 for x, y in places)
    (told,) = made["searchers"][0]["audible"]
    assert told["burial"] == "A"
    assert told["seconds"] == pytest.approx(heard, abs=3)


def test_contract_the_document_is_finite_json_in_the_order_of_the_drill(perfect) -> None:
    planned, _, made = perfect
    json.dumps(made, allow_nan=False)
    assert [s["id"] for s in made["searchers"]] == [s.id for s in planned.searchers]
    assert made["searchers"][1]["track"] is None
    assert made["run"]["time_zero"] == "alarm split"
    assert made["run"]["alarm_utc"] == "2026-02-14T09:30:00Z"
    assert made["burials"][0]["found_by"] == "s1"
    assert made["survival"]["burials"][0]["low"] < made["survival"]["burials"][0]["high"]
    assert {"boundary_m", "holes_m", "entry_m", "anchors", "slope_deg"} <= set(made["site"])
    assert made["flux_lines"][0]["searcher"] == "s1"


def test_property_a_perfect_walker_without_noise_draws_only_praise(perfect) -> None:
    _, _, made = perfect
    assert made["findings"]
    assert all(finding["praise"] for finding in made["findings"])


def test_contract_a_late_turn_is_found_with_its_cost_and_place() -> None:
    planned = drill()
    truth = lane_then_flux_line(planned, reaction_s=25.0)
    assert truth is not None
    track = recorded_by(truth.t_s, truth.position_m, seed=2)
    made = document(planned, track, splits=splits_of(truth))
    late = [f for f in made["findings"] if f["kind"] == "late_turn"]
    assert len(late) == 1
    numbers = late[0]["numbers"]
    assert 10.0 <= numbers["seconds"] <= 25.0  # stated as 'at least'
    assert numbers["middle_seconds"] == pytest.approx(25.0, abs=8.0)
    assert late[0]["minutes"] == pytest.approx((numbers["seconds"] - 5.0) / 60.0)
    assert late[0]["at_s"] == pytest.approx(truth.heard_s, abs=8.0)
    assert abs(late[0]["position_m"][0] - 45.0) < 8.0


def test_contract_without_splits_time_starts_at_the_first_track_point(perfect) -> None:
    planned, truth, _ = perfect
    made = document(planned, recorded_by(truth.t_s, truth.position_m, seed=3))
    assert made["run"]["time_zero"] == "first track point"
    assert made["run"]["alarm_utc"] is None
    phases = [p["phase"] for p in made["searchers"][0]["phases"]]
    assert phases[:2] == ["signal", "coarse"]
    assert set(phases) <= {"signal", "coarse"}


def test_contract_names_and_burials_in_splits_are_matched_in_any_case(perfect) -> None:
    planned, truth, made = perfect
    other = splits_of(truth, searcher="INES", burial="a")
    again = document(
        planned, recorded_by(truth.t_s, truth.position_m, seed=1, white_m=0, bias_m=0), splits=other
    )
    assert again["searchers"][0]["phases"] == made["searchers"][0]["phases"]


def test_contract_unknown_names_in_splits_are_told(perfect) -> None:
    planned, truth, _ = perfect
    rows = (
        *splits_of(truth).rows,
        Split(split="probe_strike", searcher="Zed", burial="Q", time_unix_s=NOON + 50),
    )
    run = RunFiles(
        drill=planned, recorded=(recorded_by(truth.t_s, truth.position_m, seed=1),), splits=Splits(rows=rows)
    )
    faults = debrief(run).faults
    told = [say(fault) for fault in faults]
    assert any("no searcher 'Zed'" in line for line in told)
    assert any("no burial 'Q'" in line for line in told)


@given(seed=st.integers(0, 10_000))
@examples(25)
def test_property_any_walk_and_any_splits_give_a_finite_document_or_a_refusal(seed: int) -> None:
    rng = np.random.default_rng(seed)
    burials = [
        burial(
            name,
            (rng.uniform(2, 58), rng.uniform(2, 78)),
            azimuth_deg=rng.uniform(0, 360),
            tilt_deg=rng.uniform(-89, 89),
        )
        for name in "ABC"[: rng.integers(1, 4)]
    ]
    tracks = []
    for file in ("s1.gpx", "s2.gpx"):
        steps = rng.choice([0.2, 1.0, 5.0, 60.0], int(rng.integers(2, 120)))
        moves = rng.normal(0, 1.2, (steps.size, 2)) * np.minimum(steps, 10.0)[:, None]
        way = np.cumsum(moves, axis=0) + 30.0
        tracks.append(walk(np.cumsum(steps) + rng.uniform(-100, 300), way, file=file))
    kinds = (
        "alarm",
        "first_signal",
        "within_10_m",
        "lowest_reading",
        "probe_strike",
        "airway_clear",
        "set_out",
    )
    rows = [
        Split(
            split=str(kind),
            searcher=rng.choice([None, "s1", "s2"]),
            burial=rng.choice([None, "A", "B"]),
            time_unix_s=NOON + rng.uniform(-50, 900),
        )
        for kind in rng.choice(kinds, int(rng.integers(0, 8)))
    ]
    rows.sort(key=lambda row: row.time_unix_s or 0.0)
    try:
        made = debrief(
            RunFiles(drill=drill(*burials), recorded=tuple(tracks), splits=Splits(rows=tuple(rows)))
        )
    except BadInput as error:
        assert error.lines()
        return
    assert read_debrief(plain(made.document)) == made.document
    document = said(made.document)
    for searcher in document["searchers"]:
        for phase in searcher["phases"]:
            assert 0.0 <= phase["start_s"] <= phase["end_s"]
            assert phase["border_uncertainty_s"] >= 0.0


def test_contract_observations_stand_among_the_findings(perfect) -> None:
    planned, truth, _ = perfect
    seen = Split(split="observation", note="leader named at once", time_unix_s=NOON + 12)
    made = document(
        planned,
        recorded_by(truth.t_s, truth.position_m, seed=1),
        splits=Splits(rows=(*splits_of(truth).rows, seen)),
    )
    (one,) = [f for f in made["findings"] if f["kind"] == "observation"]
    assert (one["text"], one["at_s"]) == ("leader named at once", 12.0)


def test_contract_a_burial_without_a_set_has_no_audible_second(perfect) -> None:
    from dataclasses import replace

    planned, truth, _ = perfect
    silent = replace(burial("B", (40.0, 60.0)), transmitter=None)
    both = drill(*planned.burials, silent)
    made = document(both, recorded_by(truth.t_s, truth.position_m, seed=1))
    assert [a["burial"] for a in made["searchers"][0]["audible"]] == ["A", "B"]
    assert made["searchers"][0]["audible"][1]["seconds"] == 0
    assert made["burials"][1]["has_set"] is False


def test_contract_a_split_keepers_clock_that_is_off_is_found_and_said() -> None:
    planned = drill()
    truth = lane_then_flux_line(planned)
    assert truth is not None
    track = recorded_by(truth.t_s, truth.position_m, seed=4)
    made = document(planned, track, splits=splits_of(truth, late_s=420.0))
    shift = made["run"]["splits_shift_s"]
    notes = [note for note in made["run"]["notes"] if note.startswith("splits: clock shifted")]
    assert len(notes) == 1
    doubt = made["run"]["splits_shift_uncertainty_s"]
    assert abs(shift + 420.0) <= doubt
    asked = document(planned, track, splits=splits_of(truth, late_s=420.0), shifts_s={"splits": -420.0})
    assert asked["searchers"][0]["phases"][-1]["end_s"] == round(truth.clear_s)
