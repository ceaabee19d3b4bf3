"""Items of day files are imported once, in any order and with repeats; broken parts are reported."""

from __future__ import annotations

import random
from typing import Any

import pytest

from coldfield.app.answers import said
from coldfield.app.day.take import take_day_file
from coldfield.app.debriefs.from_records import split_rows
from coldfield.files.day_file import write_day_file
from coldfield.files.day_model import ITEMS, HeadLine, ItemLine, PhoneLine, RunLine
from coldfield.records.database import Database
from coldfield.records.forget import carry_out, look_through
from coldfield.records.kinds import KINDS
from coldfield.records.store import Store
from coldfield.words import say
from example_records import a_small_season, dump, put

START_MS = 1_771_061_400_000
HEAD = HeadLine(made_by="an example", made_ms=START_MS)
PHONES = [PhoneLine(id="p1", name="Larch", keeper="Ines"), PhoneLine(id="p2", name="Birch", keeper="Bram")]
RUN = RunLine(id="day-run", name="Run 2", prepared=True, drill_id="fan", drill_version=1)


@pytest.fixture(autouse=True)
def _season(database: Database) -> None:
    a_small_season(database)


def item(phone: str, n: int, kind: str, at_s: float, of: str = "day-run", **told: Any) -> ItemLine:
    at_ms = round(at_s * 1000)
    stamp = {"id": f"{of}-{phone}-{n}", "phone": phone, "n": n, "of": of, "page": f"{phone}g"}
    return ITEMS[kind].model_validate(
        {**stamp, "wall_ms": START_MS + at_ms, "since_page_ms": 1e6 + at_ms, **told}
    )


def two_phones() -> list[ItemLine]:
    """A run on two phones; the second one's clock is 40 s fast."""
    return [
        item("p1", 1, "alarm", 0),
        item("p1", 2, "split", 60, split="first_signal", burial="A"),
        item("p1", 3, "split", 200, split="probe_strike", burial="A", searcher="s1"),
        item("p1", 4, "undo", 210, item="day-run-p1-3"),
        item("p1", 5, "split", 220, split="probe_strike", burial="A", searcher="s1"),
        item("p1", 6, "hidden", 240, when="hidden", burial="A", depth_m=1.2, by="Ines", transmits=True),
        item("p2", 1, "alarm", 40),
        item("p2", 2, "seen", 100, about="leader_named", seen=True),
        item("p2", 3, "split", 340, split="airway_clear", burial="A"),
        item("p2", 4, "note", 350, words="Wind got up"),
        item("p2", 5, "close", 600, missing=[]),
    ]


def written(items: list[ItemLine], run: RunLine = RUN) -> bytes:
    return write_day_file(head=HEAD, phones=PHONES, runs=[run], items=items)


def take(database: Database, content: bytes, **more: Any) -> dict[str, Any]:
    answer: dict[str, Any] = said(take_day_file(database, content, "day.coldfield-day.txt", **more))
    return answer


def splits_of(database: Database, run_id: str = "day-run") -> list[tuple[str, float]]:
    with database.read() as connection:
        rows = Store(connection, "").page("splits", where={"run_id": run_id})
    return sorted(((row["split"], row["time_unix_s"] - START_MS / 1000) for row in rows), key=lambda r: r[1])


WANTED = [("alarm", 0.0), ("first_signal", 60.0), ("probe_strike", 220.0), ("airway_clear", 300.0)]


def without_stamps(database: Database) -> dict[str, Any]:
    """Return what is kept of the run, without versions and times of writing."""
    told = {}
    with database.read() as connection:
        store = Store(connection, "")
        for kind in ("splits", "observations", "hidings", "day_items"):
            rows = store.page(kind, where={"run_id": "day-run"}, limit=500)
            told[kind] = sorted(
                (
                    {k: v for k, v in row.items() if k not in ("version", "created_utc", "changed_utc")}
                    for row in rows
                ),
                key=lambda row: str(row["id"]),
            )
        run = store.get("runs", "day-run")
        told |= {"as_buried": run["as_buried"], "held_utc": run["held_utc"]}
    return told


def test_contract_a_run_on_two_phones_is_one_record_and_the_same_file_twice_changes_nothing(
    database: Database,
) -> None:
    items = two_phones()
    first = take(database, written(items[:6]))
    assert (first["runs"][0]["id"], first["runs"][0]["created"], first["faults"]) == ("day-run", True, [])
    second = take(database, written(items[6:]))
    assert (second["runs"][0]["created"], second["runs"][0]["kept"]) == (False, 5)
    assert splits_of(database) == WANTED
    before = dump(database)
    again = take(database, written(items))
    assert (again["runs"][0]["kept"], again["runs"][0]["there"]) == (0, 11)
    assert dump(database) == before
    with database.read() as connection:
        store = Store(connection, "")
        run = store.get("runs", "day-run")
        assert run["held_utc"] == "2026-02-14T09:30:00.000Z"
        assert run["as_buried"][0]["depth_m"] == 1.2
        assert store.get("phones", "p1")["keeper"] == "Ines"


@pytest.mark.parametrize("seed", range(6))
def test_property_files_in_any_order_cut_anywhere_come_to_the_same(
    database: Database, empty: Database, seed: int
) -> None:
    take(database, written(two_phones()))
    wanted = without_stamps(database)
    a_small_season(empty)
    rng = random.Random(seed)
    items = two_phones() + rng.sample(two_phones(), 4)
    rng.shuffle(items)
    cuts = sorted(rng.sample(range(1, len(items)), 3))
    for a, b in zip([0, *cuts], [*cuts, len(items)], strict=True):
        take(empty, written(list({one.id: one for one in items[a:b]}.values())))
    assert without_stamps(empty) == wanted


def test_contract_a_file_cut_short_or_edited_keeps_what_is_whole_and_tells_the_rest(
    database: Database,
) -> None:
    whole = written(two_phones())
    cut = take(database, whole[: len(whole) * 3 // 4])
    assert any("cut short" in fault for fault in cut["faults"])
    edited = take(database, whole.replace(b"airway_clear", b"airway_cleal"))
    assert any("line" in fault for fault in edited["faults"])
    assert ("airway_clear", 300.0) not in splits_of(database)
    assert take(database, whole)["faults"] == []
    assert splits_of(database) == WANTED


def test_contract_a_run_from_nothing_waits_for_its_drill_and_nothing_is_kept_until_then(
    database: Database,
) -> None:
    line = RunLine(id="n-20260214-BCDFGH", name="", prepared=False)
    items = [
        item("p1", 1, "alarm", 0, of=line.id),
        item("p1", 2, "split", 9, of=line.id, split="probe_strike"),
    ]
    before = dump(database)
    told = take(database, written(items, line))
    assert (told["runs"][0]["waits"], told["runs"][0]["id"]) == ("drill", None)
    assert dump(database) == before
    joined = take(database, written(items, line), of=line.id, run_id="run-1")
    assert joined["runs"][0]["id"] == "run-1"
    # The second keeper's file finds the run to which the first one was joined.
    second = [item("p2", 1, "alarm", 0, of=line.id)]
    assert take(database, written(second, line))["runs"][0]["id"] == "run-1"


def test_contract_what_was_changed_here_stays_unless_a_phone_says_otherwise_later(database: Database) -> None:
    take(database, written(two_phones()))
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.delete("splits", "day-run-p1-2")
        strike = store.get("splits", "day-run-p1-5")
        fields = {key: strike[key] for key in ("run_id", "split", "searcher", "burial", "time_unix_s")}
        fields |= {"since_alarm_s": None, "note": "seen on the video"}
        store.put("splits", strike["id"], fields, based_on=strike["version"])
    take(database, written([*two_phones(), item("p2", 6, "note", 700, words="later")]))
    assert [name for name, _ in splits_of(database)] == ["alarm", "probe_strike", "airway_clear"]
    with database.read() as connection:
        assert Store(connection, "").get("splits", "day-run-p1-5")["note"] == "seen on the video"


def test_contract_a_group_check_is_a_record_of_its_own_and_its_faults_go_to_the_kit(
    database: Database,
) -> None:
    items = [
        item("p1", 1, "check", 0, of="check-1", extent="full", leader="Yuki"),
        item(
            "p1",
            2,
            "checked",
            30,
            of="check-1",
            stage="transmits",
            person="s1",
            name="Ines",
            set="HL-01",
            battery_percent=31,
            reading_m=0.4,
            look_at=["battery", "reading"],
            by="Bram",
        ),
        item("p1", 3, "check_end", 60, of="check-1", not_checked=["s2"]),
    ]
    told = take(database, write_day_file(head=HEAD, phones=PHONES, items=items[1:]))
    assert told["checks"][0]["created"]
    told = take(database, write_day_file(head=HEAD, phones=PHONES, items=items))
    assert (told["checks"][0]["kept"], told["checks"][0]["there"]) == (1, 2)
    with database.read() as connection:
        store = Store(connection, "")
        check = store.get("group_checks", "check-1")
        kit = store.get("kit", "hl-01")
    assert (check["extent"], check["leader"], check["not_checked"]) == ("full", "Yuki", ["s2"])
    assert [one["name"] for one in check["checked"]] == ["Ines"]
    assert kit["state"] == "to check"
    assert kit["notes"] == (
        "check: battery 31 % (2026-02-14, Bram)\ncheck: reading 0.4 m at 1 m (2026-02-14, Bram)"
    )


def test_contract_a_deleted_run_is_told(database: Database) -> None:
    take(database, written(two_phones()))
    with database.write() as connection:
        Store(connection, database.stamp()).delete("runs", "day-run")
    told = take(database, written(two_phones()))
    assert told["runs"][0]["waits"] == "deleted"
    assert any("is deleted" in fault for fault in told["faults"])
    put(database, "people", "noor", name="Noor")


def test_contract_a_person_is_forgotten_in_what_phones_told(database: Database) -> None:
    items = [
        *two_phones(),
        item("p1", 7, "searcher", 250, searcher="x1", name="Ines"),
        item("p1", 8, "note", 260, words="Ines was cold"),
    ]
    check = item("p1", 1, "checked", 30, of="check-1", stage="transmits", person="s1", name="Ines", by="Ines")
    take(database, written([*items, check]))
    with database.write() as connection:
        carry_out(connection, look_through(connection, "ines"), database.stamp())
    kept = dump(database)
    for table in ("phone", "group_check", "hiding", "day_item"):
        assert not any("Ines" in value for row in kept[table] for value in row), table
    # The rest is still read.
    assert take(database, written(two_phones()[:5]))["runs"][0]["kept"] == 0


@pytest.mark.parametrize("first", ["alarm last", "alarm first", "second phone first"])
def test_contract_a_run_was_held_at_its_alarm_in_whichever_file_that_comes(
    database: Database, first: str
) -> None:
    hiding = [
        item("p1", 1, "hidden", -900, when="hidden", burial="A", depth_m=1.0),
        item("p1", 2, "alarm", 0),
    ]
    other = [item("p2", 1, "seen", 25, about="call_made"), item("p2", 2, "note", 30, words="late")]
    orders = {
        "alarm last": [hiding[:1], other, hiding[1:]],
        "alarm first": [hiding[1:], other, hiding[:1]],
        "second phone first": [other, hiding],
    }
    for items in orders[first]:
        take(database, written(items))
    with database.read() as connection:
        assert Store(connection, "").get("runs", "day-run")["held_utc"] == "2026-02-14T09:30:00.000Z"


def test_contract_when_a_run_was_held_stays_where_somebody_wrote_it(database: Database) -> None:
    take(database, written([item("p1", 1, "note", -900, words="early")]))
    with database.write() as connection:
        store = Store(connection, database.stamp())
        run = store.get("runs", "day-run")
        fields = {key: run[key] for key in KINDS["runs"].form.model_fields}
        form = KINDS["runs"].form(**fields | {"held_utc": "2026-02-14T10:00:00Z"})
        store.put("runs", "day-run", form.fields(), based_on=run["version"])
    take(database, written([item("p1", 2, "alarm", 0)]))
    with database.read() as connection:
        assert Store(connection, "").get("runs", "day-run")["held_utc"] == "2026-02-14T10:00:00.000Z"


@pytest.mark.parametrize("check_first", [True, False])
def test_contract_a_check_made_before_a_run_belongs_to_it_in_either_order(
    database: Database, check_first: bool
) -> None:
    check = [item("p1", 1, "check", -600, of="c-1", extent="simple", leader="Yuki", run="day-run")]
    for items in [check, two_phones()] if check_first else [two_phones(), check]:
        take(database, written(items))
    with database.read() as connection:
        assert Store(connection, "").get("group_checks", "c-1")["run_id"] == "day-run"


def test_contract_codes_of_observations_are_words_in_a_debrief(database: Database) -> None:
    items = [
        item("p1", 1, "alarm", 0),
        item("p1", 2, "seen", 5, about="leader_named"),
        item("p1", 3, "seen", 9, about="phones_away", seen=False, words="two of them"),
        item("p1", 4, "seen", 12, about=None, words="wind_slab on the left"),
    ]
    take(database, written(items))
    with database.read() as connection:
        rows = split_rows(Store(connection, ""), "day-run")
    seen = [row.said for row in rows if row.split == "observation" and row.said is not None]
    assert {say(one) for one in seen} == {
        "leader named",
        "phones away (not seen): two of them",
        "wind_slab on the left",
    }
    assert {one.code for one in seen} == {"observation.seen", "observation.not_seen_noted"}
