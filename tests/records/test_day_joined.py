"""A run begun on a phone without its drill is joined to one, with a matching of burials."""

from __future__ import annotations

import json
from typing import Any

import pytest

from coldfield.app.answers import said
from coldfield.app.day.look import day_of_run
from coldfield.app.day.take import take_day_file
from coldfield.errors import BadInput
from coldfield.files.day_file import write_day_file
from coldfield.files.day_model import ITEMS, HeadLine, ItemLine, RunLine
from coldfield.records.database import Database
from coldfield.records.store import Store
from example_records import DRILL, a_small_season, dump, put

START_MS = 1_771_061_400_000
OF = "n-20260214-BCDFGH"


@pytest.fixture(autouse=True)
def _drills(database: Database) -> None:
    a_small_season(database)
    upper = [{**DRILL["burials"][0], "id": "upper"}, {**DRILL["burials"][1], "id": "lower"}]
    put(database, "drills", "ridge", document={**DRILL, "burials": upper})


def item(n: int, kind: str, phone: str = "p1", **told: Any) -> ItemLine:
    at = {"wall_ms": START_MS + n * 10_000, "since_page_ms": n * 10_000.0, "page": "g"}
    return ITEMS[kind].model_validate({"id": f"{phone}-{n}", "phone": phone, "n": n, "of": OF, **at, **told})


def from_nothing() -> list[ItemLine]:
    return [
        item(1, "burial", burial="A", state="added"),
        item(2, "burial", burial="B", state="added"),
        item(3, "searcher", searcher="x-1", name=" ines"),
        item(4, "searcher", searcher="x-2", name="Tomas"),
        item(5, "hidden", when="hidden", burial="B", depth_m=1.4),
        item(6, "alarm"),
        item(7, "split", split="first_signal", burial="B", searcher="x-1"),
        item(8, "split", split="probe_strike", burial="A", searcher="x-2"),
        item(9, "digs", burial="A", searchers=["x-2", "x-1"]),
        item(10, "amend", item="p1-8", burial="B"),
        item(11, "close", missing=["A"], words="looked for"),
    ]


def take(database: Database, items: list[ItemLine], **more: Any) -> dict[str, Any]:
    run = RunLine(id=OF, name="", prepared=False)
    content = write_day_file(head=HeadLine(made_by="t", made_ms=START_MS), runs=[run], items=items)
    told: dict[str, Any] = said(take_day_file(database, content, "day.txt", of=OF, **more))["runs"][0]
    return told


def splits(database: Database, run_id: str = OF) -> set[tuple[str, str | None, str | None]]:
    with database.read() as connection:
        rows = Store(connection, "").page("splits", where={"run_id": run_id})
    return {(row["split"], row["burial"], row["searcher"]) for row in rows} - {("alarm", None, None)}


def test_contract_what_would_be_which_is_told_and_nothing_is_kept(database: Database) -> None:
    before = dump(database)
    told = take(database, from_nothing(), drill_id="ridge", look=True)
    assert dump(database) == before
    assert (told["waits"], told["id"]) == ("same", None)
    assert told["joined"]["burials"] == [{"phone": "A", "drill": "upper"}, {"phone": "B", "drill": "lower"}]
    assert told["joined"]["searchers"] == [
        {"phone": "x-1", "name": " ines", "drill": "s1"},
        {"phone": "x-2", "name": "Tomas", "drill": None},
    ]
    assert told["joined"]["drill_burials"] == ["upper", "lower"]


def test_contract_without_a_choice_burials_go_by_name_then_in_order(database: Database) -> None:
    take(database, from_nothing(), drill_id="ridge")
    assert splits(database) == {("first_signal", "lower", "s1"), ("probe_strike", "lower", "x-2")}
    with database.read() as connection:
        buried = Store(connection, "").get("runs", OF)["as_buried"]
    assert [(one["id"], one["depth_m"]) for one in buried] == [("upper", 0.8), ("lower", 1.4)]


def test_contract_a_choice_is_kept_also_for_files_that_come_later(database: Database) -> None:
    chosen = ({"A": "lower", "B": "upper"}, {"x-2": "s2"})
    take(database, from_nothing()[:7], drill_id="ridge", same=chosen)
    take(database, from_nothing()[7:])
    take(database, from_nothing())
    assert splits(database) == {("first_signal", "upper", "x-1"), ("probe_strike", "upper", "s2")}
    day = said(day_of_run(database, OF))
    assert (day["closed"]["missing"], day["digs"]) == (
        ["lower"],
        [{"burial": "lower", "searchers": ["s2", "x-1"]}],
    )
    # Burials of the plan do not count as new on the day, and the laptop is not a phone.
    assert {one["state"] for one in day["burials"]} == {"as planned"}
    assert [one["id"] for one in day["phones"]] == ["p1"]


def test_contract_another_choice_later_moves_what_was_kept(database: Database) -> None:
    take(database, from_nothing(), drill_id="ridge")
    take(database, from_nothing(), run_id=OF, same=({"A": "lower", "B": "upper"}, {}))
    assert splits(database) == {("first_signal", "upper", "x-1"), ("probe_strike", "upper", "x-2")}
    before = dump(database)
    take(database, from_nothing(), run_id=OF, same=({"A": "lower", "B": "upper"}, {}))
    take(database, from_nothing(), run_id=OF)
    assert dump(database) == before


def test_contract_a_burial_that_is_nobodys_keeps_its_name_unless_another_bears_it(database: Database) -> None:
    take(database, from_nothing(), run_id="run-1", same=({"A": "B"}, {}))
    assert ("first_signal", "B-2", "x-1") in splits(database, "run-1")


@pytest.mark.parametrize(
    ("same", "fault"),
    [
        (({"A": "upper", "B": "upper"}, {}), "chosen twice"),
        (({"A": "north"}, {}), "the drill has no burial 'north'"),
        (({}, {"x-1": "s9"}), "the drill has no searcher 's9'"),
    ],
)
def test_contract_a_wrong_choice_is_refused_and_nothing_is_kept(
    database: Database, same: Any, fault: str
) -> None:
    before = dump(database)
    with pytest.raises(BadInput) as refused:
        take(database, from_nothing(), drill_id="ridge", same=same)
    assert any(fault in line for line in refused.value.texts()), json.dumps(refused.value.texts())
    assert dump(database) == before
