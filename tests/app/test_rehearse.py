from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import coldfield.app.rehearsals.runs as app
from coldfield.app.answers import plain
from coldfield.app.drills.files import load_drill
from coldfield.app.rehearsals.constants import CONSTANT_WORDS
from coldfield.app.rehearsals.document import dig_order_of, rehearsal_answer
from coldfield.app.rehearsals.rehearse import Rehearsed, rehearse_drill, worth_of_changes
from coldfield.drill import Drill
from coldfield.errors import BadInput, Refused
from coldfield.rescue.unsure import unsure_constants
from coldfield.rescue.worth import NARROWER_STRIPS, WIDER_STRIPS

DEMO = Path(__file__).parents[2] / "src/coldfield/app/demo/drill.json"


def plain_rehearsal(rehearsed: Rehearsed) -> Any:
    return plain(rehearsal_answer(rehearsed))


@pytest.fixture(scope="module")
def demo() -> Drill:
    return load_drill(DEMO)


def test_contract_one_and_two_workers_give_the_same_numbers(
    demo: Drill, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app, "CHUNK_RUNS", 30)
    one, two = (
        plain_rehearsal(rehearse_drill(demo, runs=80, seed=3, workers=w, strip_width_m=24.0)) for w in (1, 2)
    )
    assert one == two


def test_contract_document_is_finite_json_with_the_promised_keys(demo: Drill) -> None:
    document = plain_rehearsal(rehearse_drill(demo, runs=20, seed=1, strip_width_m=24.0))
    json.dumps(document, allow_nan=False)
    assert document["runs"] == 20
    assert document["seed"] == 1
    assert [b["id"] for b in document["burials"]] == [b.id for b in demo.burials]
    for burial in document["burials"]:
        assert set(burial["seconds"]) == {"signal", "coarse", "fine", "probe", "dig", "airway"}
        for band in (*burial["seconds"].values(), burial["airway_unsure"]):
            assert band["p10"] <= band["p50"] <= band["p90"]
        assert 0.0 <= burial["survival"] <= 1.0
        dig = burial["digging"]
        assert dig["low_s"] < dig["seconds"] < dig["high_s"]
        assert dig["note"]["code"] == "note.digging_table"
        assert burial["found_fraction"] + sum(burial["not_found"].values()) == pytest.approx(1.0)
    assert document["expected_survivors"] == pytest.approx(sum(b["survival"] for b in document["burials"]))


def test_contract_progress_reaches_the_end_and_cancel_ends_it(
    demo: Drill, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app, "CHUNK_RUNS", 30)
    seen: list[tuple[int, int]] = []
    rehearse_drill(demo, runs=70, seed=1, strip_width_m=24.0, progress=lambda a, b: seen.append((a, b)))
    # Both bands: 70 runs with the settings, 70 with the constants drawn.
    assert seen[-1] == (140, 140)
    assert seen == sorted(seen)
    with pytest.raises(Refused, match="cancelled"):
        rehearse_drill(demo, runs=100_000, seed=1, strip_width_m=24.0, cancelled=lambda: True)


def test_contract_every_constant_that_is_drawn_has_a_name_for_people() -> None:
    assert {one.name for one in unsure_constants()} <= set(CONSTANT_WORDS)


def test_contract_what_helps_is_steady_over_the_constants(demo: Drill) -> None:
    found = worth_of_changes(rehearse_drill(demo, runs=60, seed=2, strip_width_m=24.0))
    told = {one.change.code: one for one in found}
    digging = told["change.digging_faster"]
    assert digging.counts
    assert digging.gain_minutes > 0.0
    assert digging.helps_share is not None
    for one in found:
        if one.counts:
            assert abs(one.gain_minutes) > 2 * one.minutes_standard_error
    strips = [told[change.code] for change in (NARROWER_STRIPS, WIDER_STRIPS)]
    assert not all(one.counts and one.gain_minutes > 0.0 for one in strips)


def test_contract_all_faults_at_once(demo: Drill) -> None:
    with pytest.raises(BadInput) as caught:
        rehearse_drill(demo, runs=0, seed=-1, workers=0)
    assert len(caught.value.texts()) == 3


def test_property_diggers_are_shared_out_over_every_burial_that_is_found(demo: Drill) -> None:
    order = dig_order_of(rehearse_drill(demo, runs=30, seed=1))
    assert order is not None
    assert sorted(name for team in order.teams for name in team.burials) == sorted(b.id for b in demo.burials)
    assert sum(team.people for team in order.teams) == sum(s.shovel for s in demo.searchers)
    one = replace(demo, burials=demo.burials[:1])
    assert dig_order_of(rehearse_drill(one, runs=5, seed=1)) is None


def test_property_without_any_set_everybody_probes_in_line(demo: Drill) -> None:
    bare = replace(demo, burials=tuple(replace(b, transmitter=None) for b in demo.burials))
    rehearsed = rehearse_drill(bare, runs=6, seed=1)
    document = plain_rehearsal(rehearsed)
    assert document["strip_width_m"] is None
    for burial in document["burials"]:
        assert burial["seconds"]["coarse"]["p50"] is None
        assert set(burial["not_found"]) <= {"no set, and the probe line did not strike it"}
    assert not any("strips" in one.change.code for one in worth_of_changes(rehearsed))


def test_contract_what_is_played_while_the_compiler_works_has_the_same_numbers(
    demo: Drill, monkeypatch: pytest.MonkeyPatch
) -> None:
    ready = iter([False, False, False, False, True])
    monkeypatch.setattr(app, "kernel_ready", lambda: next(ready, True))
    monkeypatch.setattr(app, "PLAIN_RUNS", 4)
    told: list[int] = []
    meanwhile = rehearse_drill(
        demo, runs=70, seed=3, strip_width_m=24.0, meanwhile=True, progress=lambda done, _: told.append(done)
    )
    monkeypatch.setattr(app, "kernel_ready", lambda: True)
    waited = rehearse_drill(demo, runs=70, seed=3, strip_width_m=24.0)
    assert told[0] == 4
    assert plain_rehearsal(meanwhile) == plain_rehearsal(waited)


def test_contract_without_a_compiler_at_work_it_is_compiled_here_in_the_end(demo: Drill) -> None:
    choice = app.Choice(compiled=False, meanwhile=True, runs_per_run=1.0)
    assert choice.piece_runs() == app.PLAIN_RUNS
    assert choice.now(app.MANY_RUNS)
    assert choice.piece_runs() == app.CHUNK_RUNS


def test_property_phases_share_the_whole_time_and_airways_become_free_with_time(demo: Drill) -> None:
    document = plain_rehearsal(rehearse_drill(demo, runs=20, seed=1, strip_width_m=24.0))
    for burial in document["burials"]:
        assert sum(burial["phase_shares"].values()) == pytest.approx(1.0)
        free = burial["airway_free_by_minute"]
        assert free == sorted(free)
        assert len(free) == document["horizon_s"] / 60 + 1
        assert document["all_clear"]["by_minute"][20] <= free[20] <= burial["found_fraction"]
