from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import coldfield.app.rehearse as app
from coldfield.app.drills import load_drill
from coldfield.app.rehearse import dig_order_of, rehearsal_document, rehearse_drill, worth_of_changes
from coldfield.drill import Drill
from coldfield.errors import BadInput, Refused

DEMO = Path(__file__).parents[2] / "src/coldfield/app/demo_drill.json"


@pytest.fixture(scope="module")
def demo() -> Drill:
    return load_drill(DEMO)


def test_contract_one_and_two_workers_give_the_same_numbers(
    demo: Drill, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app, "CHUNK_RUNS", 30)
    one, two = (
        rehearsal_document(rehearse_drill(demo, runs=80, seed=3, workers=w, strip_width_m=24.0))
        for w in (1, 2)
    )
    assert one == two


def test_contract_document_is_finite_json_with_the_promised_keys(demo: Drill) -> None:
    document = rehearsal_document(rehearse_drill(demo, runs=20, seed=1, strip_width_m=24.0))
    json.dumps(document, allow_nan=False)
    assert document["runs"] == 20
    assert document["seed"] == 1
    assert [b["id"] for b in document["burials"]] == [b.id for b in demo.burials]
    for burial in document["burials"]:
        assert set(burial["seconds"]) == {"signal", "coarse", "fine", "probe", "dig", "airway"}
        for band in burial["seconds"].values():
            assert band["p10"] <= band["p50"] <= band["p90"]
        assert 0.0 <= burial["survival"] <= 1.0
        dig = burial["digging"]
        assert dig["low_s"] < dig["seconds"] < dig["high_s"]
        assert "no published table" in dig["note"]
        assert burial["found_fraction"] + sum(burial["not_found"].values()) == pytest.approx(1.0)
    assert document["expected_survivors"] == pytest.approx(sum(b["survival"] for b in document["burials"]))


def test_contract_progress_reaches_the_end_and_cancel_ends_it(
    demo: Drill, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app, "CHUNK_RUNS", 30)
    seen: list[tuple[int, int]] = []
    rehearse_drill(demo, runs=70, seed=1, strip_width_m=24.0, progress=lambda a, b: seen.append((a, b)))
    assert seen[-1] == (70, 70)
    assert seen == sorted(seen)
    with pytest.raises(Refused, match="cancelled"):
        rehearse_drill(demo, runs=100_000, seed=1, strip_width_m=24.0, cancelled=lambda: True)


def test_contract_all_faults_at_once(demo: Drill) -> None:
    with pytest.raises(BadInput) as caught:
        rehearse_drill(demo, runs=0, seed=-1, workers=0)
    assert len(caught.value.faults) == 3


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
    document = rehearsal_document(rehearsed)
    assert document["strip_width_m"] is None
    for burial in document["burials"]:
        assert burial["seconds"]["coarse"]["p50"] is None
        assert set(burial["not_found"]) <= {"no set, and the probe line did not strike it"}
    assert not any("strips" in w.change for w in worth_of_changes(rehearsed))
