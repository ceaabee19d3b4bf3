"""One figure for one thing: page, card, chart, table, CSV and sheet of one drill and one run.

The page formats values with `frontend/src/words/quantities.ts`; one table of examples
(`tests/data/said.json`) tests that it follows the rules here. So values are compared as sent to the page, and
words as in the catalogue.
"""

from __future__ import annotations

import csv
import io
import re
import shutil
from collections.abc import Iterator
from math import floor
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from coldfield.app.answers import plain
from coldfield.app.demo.demo import demo_drill
from coldfield.app.rehearsals import kept, live, runs
from coldfield.app.rehearsals.document import rehearsal_answer
from coldfield.app.rehearsals.rehearsal_csv import rehearsal_csv
from coldfield.app.rehearsals.rehearse import rehearse_drill
from coldfield.files.debrief_json import read_debrief
from coldfield.message import about, cost, duration, length, message
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app, make_jobs
from coldfield.words import ENGLISH, say
from paper_pages import squeezed, words_of

RUNS = 300


@pytest.fixture(scope="module")
def client(demo_records: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    folder = shutil.copytree(demo_records, tmp_path_factory.mktemp("agree") / "records")
    database = open_sqlite(Folder(folder))
    jobs = make_jobs(database)
    try:
        yield TestClient(create_app(database, jobs=jobs), base_url="http://127.0.0.1:8457")
    finally:
        jobs.close()
        database.close()


def table(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def words(quantity: Any) -> str:
    return say(message("sheet.plain", n=quantity), ENGLISH)


def test_contract_the_minutes_of_a_drill_are_the_same_everywhere(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "SETTLED_RUNS", RUNS)
    monkeypatch.setattr(runs, "kernel_ready", lambda: True)
    # Another test of this process may have cached an answer with the same number of runs.
    kept._minutes.cache_clear()
    drill = client.get("/api/drills/demo-drill").json()["document"]
    card = client.get("/api/drills/demo-drill/minutes").json()["minutes"]
    line = client.post("/api/minutes", json={"drill": drill, "settled": True}).json()
    answer = rehearsal_answer(rehearse_drill(demo_drill(), runs=RUNS, seed=live.SEED))
    rehearsal = plain(answer)
    assert card == line
    for band in ("seconds", "unsure"):
        shown = {name: rehearsal["all_clear"][band][name] for name in ("p10", "p50", "p90")}
        assert {name: line["all_clear"][band][name] for name in shown} == shown
    rows = table(rehearsal_csv(answer))
    free = {one["name"]: one for one in rows if one["row"] == "free" and not one["burial"]}
    for name, band in (("runs", "seconds"), ("constants", "unsure")):
        for percentile in ("p10", "p50", "p90"):
            told = rehearsal["all_clear"][band][percentile]
            assert float(free[name][f"{percentile}_s"]) == pytest.approx(told, abs=0.05)
            # The cell is rounded to 0.1 s, which still gives the same half minutes as on the page.
            assert words(about(float(free[name][f"{percentile}_s"]))) == words(about(told))
    chart = {
        one["minute"]: one["share_of_runs"] for one in rows if one["row"] == "by_minute" and not one["burial"]
    }
    assert [float(share) for share in chart.values()] == pytest.approx(
        rehearsal["all_clear"]["by_minute"], abs=5e-5
    )


def test_contract_the_times_of_a_run_are_the_same_on_page_table_csv_and_sheet(client: TestClient) -> None:
    page = client.get("/api/debriefs/demo-debrief/document").json()["document"]
    sheet = squeezed(words_of(client.get("/debriefs/demo-debrief/debrief.pdf").content))
    exported = {
        (one["searcher"], one["burial"], one["phase"], one["start_s"]): float(one["seconds"])
        for one in table(client.get("/debriefs/demo-debrief/phases.csv").text)
    }
    history = {who: client.get(f"/api/people/{who}/history").json()[0] for who in ("ines", "bram")}
    phases = [(one["id"], phase) for one in page["searchers"] for phase in one["phases"]]
    assert phases
    for who, phase in phases:
        took = phase["end_s"] - phase["start_s"]
        key = (who, phase["burial"] or "", phase["phase"], f"{phase['start_s']:.2f}")
        assert exported[key] == pytest.approx(took, abs=0.005)
        assert squeezed(words(duration(took))) in sheet
    for who, entry in history.items():
        for burial, told in entry["phases"].items():
            for name, seconds in told.items():
                mine = [p for id_, p in phases if (id_, p["burial"] or "", p["phase"]) == (who, burial, name)]
                assert seconds == pytest.approx(sum(p["end_s"] - p["start_s"] for p in mine), abs=0.05)
        kept = {
            (one["burial"], one["name"]): float(one["seconds"])
            for one in table(client.get(f"/api/people/{who}/history.csv").text)
            if one["row"] == "phase"
        }
        assert kept == {
            (burial, name): s for burial, told in entry["phases"].items() for name, s in told.items()
        }


def test_contract_the_last_airway_and_what_a_finding_cost_are_told_alike(client: TestClient) -> None:
    page = client.get("/api/debriefs/demo-debrief/document").json()["document"]
    sheet = squeezed(words_of(client.get("/debriefs/demo-debrief/debrief.pdf").content))
    first = client.get("/api/overview").json()
    course = client.get("/api/courses/demo-course/overview").json()
    cleared = [one["t_s"] for one in page["splits"] if one["split"] == "airway_clear"]
    for run in (first["runs"][0], first["debriefs"][0]["run"], course["runs"][0]):
        assert words(duration(run["airway_clear_s"])) == words(duration(max(cleared)))
    for band in page["bands"]:
        # Bands are predictions: half minutes on the page, and on the sheet beside a person's phase.
        if (
            any(
                p["phase"] == band["phase"] and p["burial"] == band["burial"]
                for s in page["searchers"]
                for p in s["phases"]
            )
            and band["p90"] is not None
            and band["phase"] != "dig"
        ):
            assert squeezed(words(about(band["p10"]))) in sheet
    for finding, read in zip(page["findings"], read_debrief(page).findings, strict=True):
        if finding["minutes"] and not finding["praise"]:
            seconds = 60.0 * finding["minutes"]
            told = duration(seconds) if finding["kind"] == "standard_missed" else cost(seconds)
            assert read.cost_words() == told


def test_contract_the_strip_width_is_the_same_on_page_and_sheet(client: TestClient) -> None:
    drill = client.get("/api/drills/demo-drill").json()["document"]
    lanes = client.post("/api/strips", json={"drill": drill}).json()
    minutes = client.post("/api/minutes", json={"drill": drill}).json()
    assert minutes["strip_width_m"] == lanes["strip_width_m"]
    sheet = squeezed(re.sub(r"<[^>]*>", " ", client.get("/drills/demo-drill/setup.html").text))
    assert squeezed(words(length(lanes["strip_width_m"]))) in sheet


@pytest.mark.parametrize("range_m", [31, 33, 38, 43])
def test_contract_lanes_lie_as_far_apart_as_the_page_says_where_no_width_is_set(
    client: TestClient, range_m: float
) -> None:
    drill = client.get("/api/drills/demo-drill").json()["document"]
    for searcher in drill["searchers"]:
        searcher["receiver"]["coaxial_range_m"] = range_m
    widest = client.post("/api/strip-width", json={"drill": drill}).json()["edge_width_m"]
    lanes = client.post("/api/strips", json={"drill": drill}).json()
    minutes = client.post("/api/minutes", json={"drill": drill}).json()
    # Whole metres, never wider than worked out: `frontend/src/drill/strips/walked.ts` says the same on the page.
    assert lanes["strip_width_m"] == minutes["strip_width_m"] == floor(widest)
