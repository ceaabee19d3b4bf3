"""Writing and reading records: completely, once, and never over somebody else's change."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from amount import amount
from coldfield.errors import BadInput, Conflict, Refused, UnknownRecord
from coldfield.records.database import Database
from coldfield.records.kinds import KINDS
from coldfield.records.store import Store
from coldfield.records.tables import STAMPS
from example_records import DRILL, GPX, a_small_season, drill, put


def get(database: Database, kind: str, record_id: str) -> dict[str, Any]:
    with database.read() as connection:
        return Store(connection, database.stamp()).get(kind, record_id)


def page(database: Database, kind: str, **how: Any) -> list[dict[str, Any]]:
    with database.read() as connection:
        return Store(connection, database.stamp()).page(kind, **how)


def delete(database: Database, kind: str, record_id: str, **how: Any) -> str:
    with database.write() as connection:
        return Store(connection, database.stamp()).delete(kind, record_id, **how)


def undo(database: Database, deletion_id: str) -> dict[str, Any]:
    with database.write() as connection:
        return Store(connection, database.stamp()).undo(deletion_id)


def test_contract_every_kind_comes_back_as_written(database: Database) -> None:
    a_small_season(database)
    hl_01 = get(database, "kit", "hl-01")
    assert (hl_01["kind"], hl_01["label"], hl_01["owner_id"], hl_01["state"]) == (
        "set",
        "HL-01",
        "ines",
        "in use",
    )
    run = get(database, "runs", "run-1")
    assert run["held_utc"] == "2026-02-14T09:30:00.000Z"
    assert run["drill_version"] == 1
    assert run["as_buried"] == DRILL["burials"]
    assert run["searchers"] == [
        {"searcher": "s1", "person_id": "ines"},
        {"searcher": "s2", "person_id": "bram"},
    ]
    assert get(database, "drills", "fan")["document"] == DRILL
    assert get(database, "sites", "bowl")["document"] == DRILL["site"]


def test_contract_the_same_write_twice_leaves_one_record(database: Database) -> None:
    first = put(database, "people", "ines", name="Ines")
    again = put(database, "people", "ines", name="Ines")
    assert first.created
    assert not again.created
    assert again.record == first.record
    assert len(page(database, "people")) == 1


def test_contract_a_run_with_open_fields_is_the_same_when_sent_again(database: Database) -> None:
    put(database, "drills", "fan", document=DRILL)
    first = put(database, "runs", "r", drill_id="fan")
    put(database, "drills", "fan", based_on=1, document=drill(name="Changed since"))
    assert put(database, "runs", "r", drill_id="fan").record == first.record


def test_contract_two_tabs_cannot_overwrite_each_other(database: Database) -> None:
    put(database, "people", "ines", name="Ines")
    put(database, "people", "ines", based_on=1, name="Ines", notes="from the first tab")
    with pytest.raises(Conflict) as caught:
        put(database, "people", "ines", based_on=1, name="Ines", notes="from the second tab")
    assert (caught.value.version, caught.value.based_on) == (2, 1)
    assert get(database, "people", "ines")["notes"] == "from the first tab"


def test_contract_another_record_under_a_used_id_is_refused(database: Database) -> None:
    put(database, "people", "x", name="Ines")
    with pytest.raises(Conflict):
        put(database, "people", "x", name="Bram")


def test_contract_a_change_sent_twice_is_made_once(database: Database) -> None:
    put(database, "people", "ines", name="Ines")
    put(database, "people", "ines", based_on=1, name="Ines", notes="n")
    assert put(database, "people", "ines", based_on=1, name="Ines", notes="n").record["version"] == 2


def test_contract_a_run_keeps_the_drill_it_was_run_on(database: Database) -> None:
    a_small_season(database)
    put(database, "drills", "fan", based_on=1, document=drill(name="Three on the fan"), site_id="bowl")
    assert get(database, "drills", "fan")["drill_version"] == 2
    assert get(database, "runs", "run-1")["drill_version"] == 1
    with database.read() as connection:
        assert Store(connection, "").drill_version("fan", 1) == DRILL
    assert put(database, "runs", "run-2", drill_id="fan").record["drill_version"] == 2


def test_contract_notes_of_a_drill_change_without_a_new_version(database: Database) -> None:
    put(database, "drills", "fan", document=DRILL)
    assert put(database, "drills", "fan", based_on=1, document=DRILL, notes="n").record["drill_version"] == 1


@pytest.mark.parametrize(
    ("kind", "fields", "fault"),
    [
        ("kit", {"kind": "probe", "label": "P", "owner_id": "no"}, "owner_id: there is no person 'no'"),
        ("days", {"course_id": "no", "date": "2026-02-14"}, "course_id: there is no course 'no'"),
        ("runs", {"drill_id": "no"}, "drill_id: there is no drill 'no'"),
        ("runs", {"drill_id": "fan", "drill_version": 2}, "drill_version: this drill has versions 1 to 1"),
        (
            "runs",
            {"drill_id": "fan", "searchers": [{"searcher": "s9"}]},
            "searchers[0].searcher: the drill has no searcher 's9'",
        ),
        (
            "runs",
            {"drill_id": "fan", "searchers": [{"searcher": "s1", "person_id": "no"}]},
            "searchers[0].person_id: there is no person 'no'",
        ),
    ],
)
def test_contract_references_to_nothing_are_refused(
    database: Database, kind: str, fields: dict[str, Any], fault: str
) -> None:
    put(database, "drills", "fan", document=DRILL)
    with pytest.raises(BadInput, match=r".") as caught:
        put(database, kind, "r", **fields)
    assert fault in str(caught.value)
    assert page(database, kind) == []


def test_contract_a_person_stands_once_in_a_course(database: Database) -> None:
    a_small_season(database)
    with pytest.raises(Refused):
        put(database, "participants", "again", course_id="feb", person_id="ines")


def test_contract_deleting_takes_what_belongs_and_undo_brings_all_of_it_back(database: Database) -> None:
    a_small_season(database)
    before = {kind: page(database, kind) for kind in KINDS}
    deletion = delete(database, "runs", "run-1")
    for kind in ("runs", "splits", "observations", "tracks"):
        assert page(database, kind) == []
    with pytest.raises(UnknownRecord, match=deletion):
        get(database, "runs", "run-1")
    with pytest.raises(Refused):
        put(database, "runs", "run-1", drill_id="fan")
    undo(database, deletion)
    assert {kind: page(database, kind) for kind in KINDS} == before


def test_contract_a_split_deleted_earlier_stays_deleted_when_its_run_comes_back(database: Database) -> None:
    a_small_season(database)
    delete(database, "splits", "sp-2")
    undo(database, delete(database, "runs", "run-1"))
    assert [split["id"] for split in page(database, "splits")] == ["sp-1"]


def test_contract_a_part_cannot_come_back_without_its_run(database: Database) -> None:
    a_small_season(database)
    split = delete(database, "splits", "sp-2")
    run = delete(database, "runs", "run-1")
    with pytest.raises(Refused, match=run):
        undo(database, split)


def test_contract_deleting_what_changed_since_is_refused(database: Database) -> None:
    put(database, "people", "ines", name="Ines")
    put(database, "people", "ines", based_on=1, name="Ines", notes="n")
    with pytest.raises(Conflict):
        delete(database, "people", "ines", based_on=1)


def test_contract_the_file_of_a_track_stays_as_it_came(database: Database) -> None:
    a_small_season(database)
    with database.read() as connection:
        assert Store(connection, "").file("tracks", "tr-1") == GPX


def test_contract_a_failed_write_leaves_nothing(database: Database) -> None:
    def fail() -> None:
        with database.write() as connection:
            store = Store(connection, database.stamp())
            store.put("people", "a", KINDS["people"].form(name="A").fields(), based_on=None)
            raise RuntimeError("stop here")

    with pytest.raises(RuntimeError):
        fail()
    assert page(database, "people") == []


def test_property_pages_give_every_record_once_in_order(database: Database) -> None:
    names = [f"P{i % 7}" for i in range(23)]
    for i, name in enumerate(names):
        put(database, "people", f"p{i}", name=name)
    found: list[dict[str, Any]] = []
    while rows := page(database, "people", limit=5, after=found[-1]["id"] if found else None):
        found += rows
    assert [(row["name"], row["id"]) for row in found] == sorted(
        (name, f"p{i}") for i, name in enumerate(names)
    )


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1, max_size=30)


@settings(
    max_examples=amount(10, desk=250),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    database=None,
)
@given(
    name=WORDS.filter(str.strip),
    note=st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"])),
    at=st.floats(0, 4_102_444_800),
    seen=st.none() | st.booleans(),
)
def test_property_any_words_and_numbers_come_back_unchanged(
    database: Database, name: str, note: str, at: float, seen: bool | None
) -> None:
    run = {"run_id": "run-1"}
    if not page(database, "runs"):
        a_small_season(database)
    key = f"k{len(page(database, 'people', limit=500))}"
    given_fields = {
        "people": {"name": name, "contact": "", "notes": note},
        "observations": {**run, "about": name, "seen": seen, "searcher": None, "time_unix_s": at, "note": ""},
        "splits": {**run, "split": name, "burial": name, "time_unix_s": at},
    }
    for kind, fields in given_fields.items():
        put(database, kind, key, **fields)
        stored = get(database, kind, key)
        assert fields.items() <= stored.items()
        assert set(stored) == set(STAMPS) | set(KINDS[kind].form.model_fields)
