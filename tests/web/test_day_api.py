"""A day file through the API: to the phone, and back into its run."""

from __future__ import annotations

from starlette.testclient import TestClient

from coldfield.files.day_file import read_day_file, write_day_file
from coldfield.files.day_model import ITEMS, HeadLine, ItemLine, PhoneLine
from coldfield.files.run_code import read_run_code
from coldfield.records.database import Database
from example_records import a_small_season

START_MS = 1_771_061_400_000
THINNED = {"boundary_m"}


def test_contract_a_run_goes_to_the_phone_and_comes_back_to_itself(
    client: TestClient, database: Database
) -> None:
    a_small_season(database)
    out = client.get("/api/runs/run-1/for-phone", params={"agreed_word": "Granite"})
    assert out.headers["content-disposition"].endswith('.coldfield-day.txt"')
    (run,) = read_day_file(out.content).runs
    assert (run.id, run.drill_id, run.drill_version, run.agreed_word) == ("run-1", "fan", 1, "Granite")
    # Ines is searcher s1 of this run, and owns one set.
    assert {one.id: one.set for one in run.searchers}["s1"] == "HL-01"

    items = []
    for phone, ahead_ms in (("pa", 0), ("pb", 40_000)):
        stamp = {"phone": phone, "of": run.id, "page": f"{phone}g"}
        at = START_MS + ahead_ms
        items += [
            _item(stamp, 1, at, kind="alarm"),
            _item(stamp, 2, at + 60_000, kind="note", words=f"from {phone}"),
        ]
    phones = [PhoneLine(id="pa", name="Larch"), PhoneLine(id="pb", name="Birch")]
    back = write_day_file(
        head=HeadLine(made_by="t", made_ms=START_MS), phones=phones, runs=[run], items=items[:3]
    )
    told = client.post("/api/day-file?file_name=day.txt", content=back).json()
    assert told["runs"][0] | {"begun_utc": ""} == {
        "of": "run-1",
        "name": "Run 1",
        "id": "run-1",
        "created": False,
        "waits": None,
        "joined": None,
        "begun_utc": "",
        "kept": 3,
        "there": 0,
    }
    day = client.get("/api/runs/run-1/day").json()
    assert [(one["name"], one["shift_s"], one["by"]) for one in day["phones"]] == [
        ("Larch", 0.0, "this clock"),
        ("Birch", -40.0, "alarm"),
    ]
    assert [(one["words"], one["since_alarm_s"]) for one in day["notes"]] == [("from pa", 60.0)]


def test_contract_a_drill_goes_to_the_phone_and_comes_back_as_a_new_run(
    client: TestClient, database: Database
) -> None:
    a_small_season(database)
    (run,) = read_day_file(client.get("/api/drills/fan/for-phone").content).runs
    assert run.drill_id == "fan"
    item = _item({"phone": "pa", "of": run.id, "page": "g"}, 1, START_MS, kind="alarm")
    back = write_day_file(head=HeadLine(made_by="t", made_ms=START_MS), runs=[run], items=[item])
    told = client.post("/api/day-file?file_name=day.txt", content=back).json()
    assert told["runs"][0]["created"]
    assert client.get(f"/api/runs/{run.id}").json()["drill_id"] == "fan"


def test_contract_a_run_is_given_as_codes_and_as_a_fragment(client: TestClient, database: Database) -> None:
    a_small_season(database)
    (by_file,) = read_day_file(client.get("/api/runs/run-1/for-phone?agreed_word=Granite").content).runs
    told = client.get("/api/runs/run-1/codes?agreed_word=Granite").json()
    run = read_run_code((told["fragment"],))
    assert (told["run"], run.agreed_word, run.drill_id) == ("run-1", "Granite", "fan")
    assert run.model_dump(exclude=THINNED) == by_file.model_dump(exclude=THINNED)
    assert told["codes"]
    assert all(one["size"] <= 17 + 4 * 20 + 8 and one["path"] for one in told["codes"])
    first, second = (client.get("/api/drills/fan/codes").json()["run"] for _ in range(2))
    assert first != second
    for path in ("runs", "drills"):
        assert client.get(f"/api/{path}/none/codes").status_code == 404


def test_contract_what_is_no_day_file_is_a_problem(client: TestClient) -> None:
    answer = client.post("/api/day-file?file_name=day.txt", content=b"dear diary")
    assert answer.status_code == 422
    assert "is not a day file" in answer.json()["faults"][0]
    assert client.get("/api/runs/none/day").status_code == 404
    assert client.get("/api/drills/none/for-phone").status_code == 404


def _item(stamp: dict[str, str], n: int, at_ms: int, *, kind: str, **told: object) -> ItemLine:
    return ITEMS[kind].model_validate(
        {
            **stamp,
            "id": f"{stamp['phone']}-{n}",
            "n": n,
            "wall_ms": at_ms,
            "since_page_ms": float(at_ms - START_MS),
            **told,
        }
    )
