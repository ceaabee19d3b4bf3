"""The Hearing part of a drill through the API, compared with single answers of the same service."""

from __future__ import annotations

import json
import multiprocessing
import signal
import threading
from importlib.resources import files
from math import radians
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from coldfield.app.hearing.map import PLAIN_LINES
from coldfield.app.hearing.readiness import Readiness, _compile
from coldfield.files.hearing_bytes import PackedHearing, unpack_hearing
from coldfield.records.database import Database
from coldfield.web.app import create_app, make_jobs


@pytest.fixture
def drill() -> Any:
    return json.loads(files("coldfield.app.demo").joinpath("drill.json").read_text(encoding="utf-8"))


def asked_map(client: TestClient, drill: Any, **more: Any) -> PackedHearing:
    answer = client.post("/api/hearing-map", json={"drill": drill, "lines": 60, **more})
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/octet-stream"
    return unpack_hearing(answer.content)


@pytest.mark.parametrize("searcher", ["ines", "tomas"])
def test_independent_route_map_says_what_single_places_say(
    client: TestClient, drill: Any, searcher: str
) -> None:
    # The compiled, packed grid compared with the array functions behind POST /api/signal.
    packed = asked_map(client, drill, searcher=searcher)
    head = packed.header
    compared = 0
    for row, column in [(5, 9), (36, 22), (40, 27), (30, 17), (42, 34), (38, 39)]:
        at = [head["west_m"] + column * head["step_m"], head["south_m"] + row * head["step_m"]]
        answer = client.post("/api/signal", json={"drill": drill, "at_m": at, "searcher": searcher}).json()
        for k, burial in enumerate(answer["burials"]):
            assert (packed.margin[k, row, column] >= 0) == burial["audible"]
            if not burial["audible"]:
                continue
            compared += 1
            shown = packed.reading[k, row, column] / 100
            assert abs(burial["reading_m"] - shown) <= (0.51 if burial["reading_m"] >= 10 else 0.06)
            if burial["direction_deg"] is not None:
                turned = float(packed.direction[k, row, column]) * 180 / 240 - burial["direction_deg"]
                assert abs((turned + 90) % 180 - 90) <= 0.376  # half a step
    assert compared >= 5


def test_contract_heard_by_counts_every_searchers_own_answer(client: TestClient, drill: Any) -> None:
    packed = asked_map(client, drill)
    head = packed.header
    assert head["searchers"] == len(drill["searchers"])
    for row, column in [(20, 20), (10, 30), (40, 40)]:
        at = [head["west_m"] + column * head["step_m"], head["south_m"] + row * head["step_m"]]
        heard = np.zeros(len(head["burials"]), dtype=int)
        for searcher in drill["searchers"]:
            asked = {"drill": drill, "at_m": at, "searcher": searcher["id"]}
            heard += [b["audible"] for b in client.post("/api/signal", json=asked).json()["burials"]]
        assert packed.heard_by[:, row, column].tolist() == heard.tolist()


def test_contract_one_burial_alone_is_the_same_as_among_all(client: TestClient, drill: Any) -> None:
    both, one = asked_map(client, drill), asked_map(client, drill, burials=["B"])
    assert one.header["burials"] == ["B"]
    for name in ("reading", "margin", "direction", "heard_by"):
        np.testing.assert_array_equal(getattr(one, name)[0], getattr(both, name)[1])


def test_contract_the_weakest_receiver_hears_no_more_than_the_others(client: TestClient, drill: Any) -> None:
    weakest = asked_map(client, drill)
    heard = [int((asked_map(client, drill, searcher=s["id"]).margin >= 0).sum()) for s in drill["searchers"]]
    assert int((weakest.margin >= 0).sum()) == min(heard)


def test_contract_a_fixed_height_is_that_of_a_single_place(client: TestClient, drill: Any) -> None:
    packed = asked_map(client, drill, searcher="ines", height_m=2.0)
    head = packed.header
    row, column = 36, 22
    at = [head["west_m"] + column * head["step_m"], head["south_m"] + row * head["step_m"]]
    asked = {"drill": drill, "at_m": at, "searcher": "ines", "height_m": 2.0}
    one = client.post("/api/signal", json=asked).json()["burials"][0]
    assert packed.reading[0, row, column] / 100 == pytest.approx(one["reading_m"], abs=0.06)


def test_contract_a_burial_dragged_off_the_ground_is_heard_all_the_same(
    client: TestClient, drill: Any
) -> None:
    drill["burials"][0]["position_m"] = [-8, 40]
    packed = asked_map(client, drill)
    assert (packed.margin[0] >= 0).any()
    assert client.post("/api/signal", json={"drill": drill, "at_m": [10, 40]}).status_code == 422
    drill["burials"][1]["id"] = "A"
    assert client.post("/api/hearing-map", json={"drill": drill}).status_code == 422


def test_contract_a_drill_without_sets_has_a_map_without_burials(client: TestClient, drill: Any) -> None:
    drill["burials"] = []
    assert asked_map(client, drill).reading.shape[0] == 0


@pytest.mark.parametrize(
    ("more", "status"),
    [
        ({"searcher": "nobody"}, 404),
        ({"burials": ["Z"]}, 404),
        ({"lines": 201}, 422),
        ({"height_m": -1}, 422),
    ],
)
def test_contract_maps_that_cannot_be_are_refused(
    client: TestClient, drill: Any, more: dict[str, Any], status: int
) -> None:
    assert client.post("/api/hearing-map", json={"drill": drill, **more}).status_code == status


def test_contract_until_the_loops_are_ready_the_map_is_coarse_and_says_so(
    database: Database, drill: Any
) -> None:
    may, started = threading.Event(), threading.Event()

    def prepare() -> None:
        started.set()
        may.wait(20)

    readiness = Readiness(prepare, lambda: True)
    jobs = make_jobs(database)
    app = create_app(database, jobs=jobs, readiness=readiness)
    client = TestClient(app, base_url="http://127.0.0.1:8457")
    readiness.start()
    assert started.wait(20)
    coarse = unpack_hearing(client.post("/api/hearing-map", json={"drill": drill, "lines": 200}).content)
    assert coarse.header["plain"]
    assert max(coarse.header["columns"], coarse.header["rows"]) == PLAIN_LINES
    assert client.get("/api/ready").json() == {"hearing_map": False}
    may.set()
    assert readiness.wait(20)
    assert client.get("/api/ready").json() == {"hearing_map": True}
    fine = unpack_hearing(
        client.post("/api/hearing-map", json={"drill": drill, "lines": PLAIN_LINES}).content
    )
    assert not fine.header["plain"]
    assert fine.header["searcher"] == coarse.header["searcher"]
    for name, most in (("reading", 1), ("margin", 1), ("heard_by", 0)):
        one, other = (getattr(of, name).astype(int) for of in (fine, coarse))
        assert np.abs(one - other).max() <= most, name
    jobs.close()


def stand_still() -> None:
    threading.Event().wait(60)


def test_contract_a_service_that_stops_does_not_wait_for_what_gets_ready() -> None:
    readiness = Readiness(stand_still, lambda: False)
    readiness.start()
    assert not readiness.wait(1)
    readiness.close()
    assert readiness.wait(20)


def interrupt_oneself() -> None:
    signal.raise_signal(signal.SIGINT)


def test_regression_ctrl_c_while_loops_compile_prints_nothing_of_them(
    capfd: pytest.CaptureFixture[str],
) -> None:
    process = multiprocessing.get_context("spawn").Process(target=_compile, args=(interrupt_oneself,))
    process.start()
    process.join(30)
    assert process.exitcode == 0
    assert capfd.readouterr().err == ""


def test_contract_flux_lines_end_where_the_reading_says(client: TestClient, drill: Any) -> None:
    answer = client.post("/api/flux-line", json={"drill": drill, "from_m": [45, 60], "searcher": "ines"})
    assert answer.status_code == 200, answer.text
    told = {line["burial"]: line for line in answer.json()["lines"]}
    line = told["A"]
    assert line["ended"] == "reading of 3 m"
    assert line["line_m"][0] == [45, 60]
    assert line["reading_m"][-1] == pytest.approx(3.0, abs=0.06)
    assert line["length_m"] >= line["straight_m"] > 5
    assert line["ratio"] == pytest.approx(line["length_m"] / line["straight_m"])
    # The walk starts along the direction that the service gives for that place.
    asked = {"drill": drill, "at_m": [45, 60], "searcher": "ines"}
    line_deg = client.post("/api/signal", json=asked).json()["burials"][0]["direction_deg"]
    step = np.subtract(line["line_m"][1], line["line_m"][0])
    walked = np.arctan2(step[0], step[1]) - radians(line_deg)
    assert abs(np.sin(walked)) < 0.03


def test_contract_a_flux_line_to_one_burial_or_to_none(client: TestClient, drill: Any) -> None:
    one = {"drill": drill, "from_m": [45, 60], "burial": "B"}
    assert [line["burial"] for line in client.post("/api/flux-line", json=one).json()["lines"]] == ["B"]
    assert client.post("/api/flux-line", json={**one, "burial": "Z"}).status_code == 404
    far = client.post("/api/flux-line", json={"drill": drill, "from_m": [900, 900]}).json()["lines"]
    assert {(line["ended"], line["length_m"], line["ratio"]) for line in far} == {("not heard", 0.0, None)}


def test_independent_route_hidden_pulses_overlap_another_sets_pulses(client: TestClient, drill: Any) -> None:
    # Explicit intervals compared with the arithmetic on phases.
    answer = client.post("/api/overlap", json={"drill": drill, "duration_s": 300, "window_s": 30})
    assert answer.status_code == 200, answer.text
    a, b = answer.json()["burials"]
    for pulse in a["pulses"]:
        # A pulse that began before time 0 can still hide the first one.
        before = [{"from_s": b["pulses"][0]["from_s"] - b["keying"]["period_s"]}]
        others = [(p["from_s"], p["from_s"] + b["keying"]["pulse_s"]) for p in before + b["pulses"]]
        crossed = any(lo < pulse["to_s"] and pulse["from_s"] < hi for lo, hi in others)
        assert pulse["hidden_by"] == (["B"] if crossed else [])
    hidden = sum(to - at for at, to in a["hidden_spells_s"])
    assert hidden / 300 == pytest.approx(a["masked_share"], abs=0.01)


def test_contract_a_window_longer_than_the_time_is_refused(client: TestClient, drill: Any) -> None:
    asked = {"drill": drill, "duration_s": 10, "window_s": 30}
    assert client.post("/api/overlap", json=asked).status_code == 422


def beside(drill: Any, east_deg: float) -> Any:
    """The same drill as a neighbour, its origin moved east."""
    other = json.loads(json.dumps(drill))
    other["name"] = f"Beside {east_deg}"
    other["site"]["origin"]["longitude_deg"] += east_deg
    return other


def test_contract_neighbours_are_found_nearest_first(client: TestClient, drill: Any) -> None:
    for name, shift in [("far", 0.02), ("beyond", 0.004), ("beside", 0.002), ("same", 0.0)]:
        assert client.put(f"/api/drills/{name}", json={"document": beside(drill, shift)}).status_code == 201
    client.delete("/api/drills/beyond")
    origin = drill["site"]["origin"]
    where = {"latitude_deg": origin["latitude_deg"], "longitude_deg": origin["longitude_deg"]}
    found = client.get("/api/neighbours", params={**where, "without": "same"}).json()
    assert [one["id"] for one in found] == ["beside"]
    # A parallel at 61.2 degrees: pi / 180 times the radius times the cosine; 0.6 % for the sphere.
    expected = np.radians(0.002) * 6_371_009 * np.cos(np.radians(origin["latitude_deg"]))
    assert found[0]["distance_m"] == pytest.approx(expected, rel=1e-3)
    wider = client.get("/api/neighbours", params={**where, "within_m": 2000}).json()
    assert [one["id"] for one in wider] == ["same", "beside", "far"]
    assert client.get("/api/neighbours", params={**where, "within_m": 5000}).status_code == 422


def test_regression_drills_that_lie_nowhere_on_earth_are_no_neighbours(
    client: TestClient, drill: Any
) -> None:
    nowhere = {**drill, "site": {**drill["site"], "origin": {**drill["site"]["origin"]}}}
    nowhere["site"]["origin"] |= {"latitude_deg": 0, "longitude_deg": 0}
    for name in ("one", "other"):
        client.put(f"/api/drills/{name}", json={"document": nowhere})
    where = {"latitude_deg": 0, "longitude_deg": 0, "without": "one"}
    assert client.get("/api/neighbours", params=where).json() == []
    answer = client.post("/api/neighbours", json={"drill": nowhere, "neighbour_id": "other"})
    assert answer.status_code == 422
    assert answer.json()["faults"][0].startswith("site.origin: ")


def test_contract_a_neighbours_sets_are_heard_as_the_maps_say(client: TestClient, drill: Any) -> None:
    client.put("/api/drills/beside", json={"document": beside(drill, 0.0014)})
    client.put("/api/drills/far", json={"document": beside(drill, 0.02)})
    asked = {"drill": drill, "neighbour_id": "beside"}
    told = client.post("/api/neighbours", json=asked).json()
    a = told["sets"][0]
    # 0.0014 degrees east at this latitude are 75 m on the plan.
    assert np.subtract(a["position_m"], drill["burials"][0]["position_m"]) == pytest.approx([75, 0], abs=0.5)
    assert a["heard_by"]
    assert 0 < a["ground_share"] < 1
    for own in told["burials"]:
        assert own["with_share"] > own["alone_share"]
    silent = client.post("/api/neighbours", json={**asked, "neighbour_id": "far"}).json()
    assert [one["heard_by"] for one in silent["sets"]] == [[], []]
    assert all(own["with_share"] == own["alone_share"] for own in silent["burials"])
    assert client.post("/api/neighbours", json={**asked, "neighbour_id": "nobody"}).status_code == 404


def test_independent_route_a_neighbour_is_heard_by_whoever_hears_its_set_put_here(
    client: TestClient, drill: Any
) -> None:
    client.put("/api/drills/beside", json={"document": beside(drill, 0.0014)})
    told = client.post("/api/neighbours", json={"drill": drill, "neighbour_id": "beside"}).json()["sets"][0]
    drill["burials"][0]["position_m"] = told["position_m"]
    drill["burials"] = drill["burials"][:1]
    drill["site"]["boundary_m"] = [[-5, -7], [140, -7], [140, 110], [-5, 110]]
    for searcher in drill["searchers"]:
        place = [100, 60]
        asked = {"drill": drill, "at_m": place, "searcher": searcher["id"]}
        (one,) = client.post("/api/signal", json=asked).json()["burials"]
        if one["audible"]:
            assert searcher["id"] in told["heard_by"]
