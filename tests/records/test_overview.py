"""Overviews: search results, counts, the first page, a course, a person's phases over the years."""

from __future__ import annotations

from typing import Any

import pytest

from coldfield.app.answers import plain
from coldfield.errors import UnknownRecord
from coldfield.records.database import Database
from coldfield.records.first_look import first_look
from coldfield.records.history import person_history
from coldfield.records.kinds.drills import GroundSketch
from coldfield.records.overview import course_overview, person_overview
from coldfield.records.phases import phase_rows
from coldfield.records.store import Store
from example_records import DRILL, a_small_season, drill, put

MADE_BY = {"coldfield": "0"}


def found(database: Database, kind: str, words: str) -> list[str]:
    with database.read() as connection:
        return [one["id"] for one in Store(connection, "").page(kind, find=words)]


def debrief_document(*phases: tuple[str, str, float, float]) -> dict[str, Any]:
    told = [
        {"burial": burial, "phase": phase, "start_s": start, "end_s": end}
        for burial, phase, start, end in phases
    ]
    return {"searchers": [{"id": "s1", "phases": told}, {"id": "s2", "phases": []}]}


@pytest.fixture
def season(database: Database) -> Database:
    a_small_season(database)
    return database


@pytest.mark.parametrize(
    ("kind", "words", "expected"),
    [
        ("people", "INES", ["ines"]),
        ("people", "bram teaches", ["yuki"]),
        ("people", "hollow-larch", ["ines"]),
        ("kit", "hl", ["hl-01"]),
        ("kit", "ines", ["hl-01"]),
        ("courses", "february", ["feb"]),
        ("drills", "bowl lower", ["fan"]),
        ("runs", "fan 2026-02", ["run-1"]),
        ("runs", "100%", []),
        ("people", "_", []),
        ("people", "", ["bram", "ines", "yuki"]),
    ],
)
def test_contract_words_are_found_wherever_they_stand(
    season: Database, kind: str, words: str, expected: list[str]
) -> None:
    assert found(season, kind, words) == expected


@pytest.mark.parametrize("words", ["jurg", "JÜRG", "Ju\u0308rg", "écolé", "ecole"])
def test_contract_case_and_accents_do_not_matter(database: Database, words: str) -> None:
    put(database, "people", "jurg", name="Jürg", notes="École")
    put(database, "people", "other", name="Jorg")
    assert found(database, "people", words) == ["jurg"]


def test_contract_a_found_list_goes_on_after_its_last_record(database: Database) -> None:
    for number in range(6):
        put(database, "people", f"p{number}", name=f"{'Ines' if number % 2 else 'Bram'} {number}")
    with database.read() as connection:
        store = Store(connection, "")
        first = store.page("people", find="ines", limit=2)
        rest = store.page("people", find="ines", limit=2, after=first[-1]["id"])
    assert [one["id"] for one in first + rest] == ["p1", "p3", "p5"]


def test_contract_kit_is_narrowed_by_state_and_kind(season: Database) -> None:
    put(season, "kit", "s1", kind="shovel", label="HL-S1", state="to check")
    with season.read() as connection:
        store = Store(connection, "")
        assert [one["id"] for one in store.page("kit", where={"state": "to check"})] == ["s1"]
        assert [one["id"] for one in store.page("kit", where={"kind": "set"})] == ["hl-01"]


def test_contract_lists_tell_the_ground_and_the_last_run(season: Database) -> None:
    put(season, "people", "pia", name="Pia")
    with season.read() as connection:
        store = Store(connection, "")
        (listed,) = store.page("drills")
        last = {one["id"]: one["last_run_utc"] for one in store.page("people")}
    assert listed["ground"] == GroundSketch(
        boundary_m=DRILL["site"]["boundary_m"],
        holes_m=[],
        entry_m=[30, 0],
        burials_m=[[22, 41], [44, 63]],
        searchers=2,
    )
    assert listed["last_run_utc"] == "2026-02-14T09:30:00.000Z"
    held = "2026-02-14T09:30:00.000Z"
    assert last == {"bram": held, "ines": held, "yuki": None, "pia": None}


def test_contract_courses_are_listed_with_their_first_and_last_day(season: Database) -> None:
    put(season, "courses", "later", name="Later")
    put(season, "days", "d2", course_id="feb", date="2026-02-16")
    put(season, "days", "d3", course_id="feb", date="2026-02-01")
    with season.write() as connection:
        Store(connection, season.stamp()).delete("days", "d3")
    with season.read() as connection:
        listed = Store(connection, "").page("courses")
    dates = [(one["name"], one["first_date"], one["last_date"]) for one in listed]
    # The course that was entered last comes first.
    assert dates == [("Later", None, None), ("February course", "2026-02-14", "2026-02-16")]


def test_contract_a_picture_of_the_ground_has_few_corners(database: Database) -> None:
    ring = [[i, 0] for i in range(500)] + [[i, 80] for i in range(499, -1, -1)]
    put(database, "drills", "long", document=drill(site={**DRILL["site"], "boundary_m": ring}))
    with database.read() as connection:
        (listed,) = Store(connection, "").page("drills")
    assert 40 <= len(listed["ground"].boundary_m) <= 60


def test_contract_the_first_page_tells_what_was_and_what_comes(season: Database) -> None:
    put(season, "kit", "s1", kind="shovel", label="HL-S1", state="to check", notes="blade bent")
    put(season, "debriefs", "d1", run_id="run-1", made_by=MADE_BY, document=debrief_document())
    with season.read() as connection:
        look = plain(first_look(connection, today="2026-02-14"))
        later = plain(first_look(connection, today="2026-02-15"))
    expected = {"people": 3, "kit": 2, "sites": 1, "courses": 1, "drills": 1, "runs": 1}
    assert look["counts"] == expected
    assert [(one["id"], one["name"]) for one in look["drills"]] == [("fan", "Two on the lower fan")]
    (run,) = look["runs"]
    assert (run["drill"], run["debrief_id"]) == ("Two on the lower fan", "d1")
    assert [who["name"] for who in run["searchers"]] == ["Ines", "Bram"]
    ((day, drills),) = [(one["day"], one["drills"]) for one in look["days"]]
    assert (day["date"], day["course"], day["site"]) == ("2026-02-14", "February course", "Vardholm Bowl")
    assert [(one["id"], one["checks"]) for one in drills] == [("fan", [])]
    assert later["days"] == []
    assert [one["label"] for one in look["to_check"]] == ["HL-S1"]


def test_contract_a_day_without_runs_has_the_drills_of_its_ground(season: Database) -> None:
    put(season, "sites", "fan-site", name="Lower fan", document=DRILL["site"])
    put(season, "drills", "ahead", document=drill(name="Ahead"), site_id="fan-site", checks=["bulletin"])
    for name, site_id in (("here", "fan-site"), ("nowhere", None)):
        put(season, "days", name, course_id="feb", date="2027-01-09", site_id=site_id)
    with season.read() as connection:
        look = plain(first_look(connection, today="2027-01-01", demo_run="run-1"))
    found = {one["day"]["id"]: [(d["id"], d["checks"]) for d in one["drills"]] for one in look["days"]}
    assert found == {"here": [("ahead", ["bulletin"])], "nowhere": []}
    assert look["demo_run"] == "run-1"


def test_contract_a_debrief_comes_with_a_ribbon_for_each_person(season: Database) -> None:
    document = debrief_document(("A", "signal", 0.0, 80.0), ("A", "dig", 80.0, 402.0))
    put(season, "debriefs", "d1", run_id="run-1", made_by=MADE_BY, document=document)
    with season.read() as connection:
        (seen,) = plain(first_look(connection, today="2026-02-14"))["debriefs"]
    assert seen["run"]["id"] == "run-1"
    assert [(one["searcher"], one["name"], len(one["phases"])) for one in seen["ribbons"]] == [
        ("s1", "Ines", 2)
    ]
    assert seen["ribbons"][0]["phases"][1] == {"phase": "dig", "start_s": 80.0, "end_s": 402.0}


def test_contract_counts_leave_out_what_is_deleted(season: Database) -> None:
    with season.write() as connection:
        Store(connection, season.stamp()).delete("runs", "run-1")
    with season.read() as connection:
        look = plain(first_look(connection, today="2026-02-14"))
        people = {one["id"]: one["last_run_utc"] for one in Store(connection, "").page("people")}
    assert look["counts"]["runs"] == 0
    assert look["runs"] == []
    assert people["ines"] is None


def test_contract_a_course_is_told_in_one_answer(season: Database) -> None:
    put(season, "people", "pia", name="Pia")
    put(season, "participants", "feb-pia", course_id="feb", person_id="pia", role="instructor")
    put(season, "splits", "sp-3", run_id="run-1", split="airway_clear", burial="A", since_alarm_s=402.0)
    put(season, "splits", "sp-4", run_id="run-1", split="airway_clear", burial="B", since_alarm_s=655.5)
    with season.read() as connection:
        course = plain(course_overview(connection, "feb"))
        with pytest.raises(UnknownRecord):
            course_overview(connection, "march")
    assert course["course"]["name"] == "February course"
    assert [(one["date"], one["site"]) for one in course["days"]] == [("2026-02-14", "Vardholm Bowl")]
    assert [(p["name"], p["role"], p["runs"]) for p in course["participants"]] == [
        ("Bram", "participant", 1),
        ("Ines", "participant", 1),
        ("Pia", "instructor", 0),
    ]
    assert course["drills"] == [{"id": "fan", "name": "Two on the lower fan", "runs": 1}]
    assert [(one["id"], one["airway_clear_s"]) for one in course["runs"]] == [("run-1", 655.5)]
    assert not course["more_runs"]


def test_contract_a_person_is_told_in_one_answer(season: Database) -> None:
    with season.read() as connection:
        ines = plain(person_overview(connection, "ines"))
        with pytest.raises(UnknownRecord):
            person_overview(connection, "nobody")
    assert ines == {
        "runs": 1,
        "kit": [{"id": "hl-01", "label": "HL-01", "kind": "set", "state": "in use"}],
        "courses": [
            {"id": "feb", "name": "February course", "role": "participant", "first_date": "2026-02-14"}
        ],
    }


def test_contract_a_history_tells_the_phases_of_the_newest_debrief(season: Database) -> None:
    old = debrief_document(("A", "signal", 0, 100))
    new = debrief_document(("A", "signal", 0, 61), ("A", "coarse", 61, 90), ("A", "coarse", 95, 99.5))
    put(season, "debriefs", "d1", run_id="run-1", made_by=MADE_BY, document=old)
    put(season, "debriefs", "d2", run_id="run-1", made_by=MADE_BY, document=new)
    with season.read() as connection:
        (ines,), (bram,) = (person_history(connection, who) for who in ("ines", "bram"))
    assert (ines.debrief_id, ines.phases) == ("d2", {"A": {"signal": 61.0, "coarse": 33.5}})
    assert (bram.debrief_id, bram.phases) == ("d2", {})
    with season.write() as connection:
        Store(connection, season.stamp()).delete("debriefs", "d2")
    with season.read() as connection:
        assert person_history(connection, "ines")[0].phases == {"A": {"signal": 100.0}}


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"searchers": None},
        {"searchers": [3, {"id": 5}, {"id": "s1"}, {"id": "s1", "phases": [None, {}]}]},
        {"searchers": [{"id": "s1", "phases": [{"phase": "signal", "start_s": None, "end_s": 3}]}]},
        {"searchers": [{"id": "s1", "phases": [{"phase": "supper", "start_s": 0, "end_s": 3}]}]},
    ],
)
def test_contract_a_document_without_usable_phases_gives_none(document: dict[str, Any]) -> None:
    assert phase_rows("d1", document) == []
