"""Gathering a run through the API: dropped tracks and splits, whose they are, the state of the debrief."""

from __future__ import annotations

import copy
import io
import tracemalloc
import zipfile
from typing import Any

import numpy as np
import pytest
from sqlalchemy import delete, func, select
from starlette.testclient import TestClient

from coldfield.app.answers import plain
from coldfield.app.debriefs import track_measures
from coldfield.app.debriefs.from_records import debrief_arguments, rests_on
from coldfield.app.debriefs.work import debrief_work
from coldfield.app.jobs.stages import not_told
from coldfield.debrief.document import DebriefDocument, HeightLines
from coldfield.debrief.findings.yardsticks import EarlierRun
from coldfield.debrief.phases.phase import Phase
from coldfield.errors import StoreTrouble
from coldfield.files.run_csv import read_splits, write_splits
from coldfield.files.track_file import read_track_file
from coldfield.records.database import Database
from coldfield.records.schema import original, track_measure
from coldfield.records.schema import track as track_table
from coldfield.records.store import Store
from example_records import DRILL, GPX, a_small_season, drill
from recorded_tracks import gpx as recorded_gpx
from spoken_answers import in_english

SPLITS = """time,searcher,burial,split,note
2026-02-14T09:30:00Z,,,alarm,
2026-02-14T09:34:00Z,ines,a,probe_strike,
2026-02-14T09:36:00Z,s1,,observation,leader named
"""


def gpx(*tracks: tuple[str, int], day: str = "2026-02-14", every_s: int = 30) -> bytes:
    """Return a GPX of walks due north of 5.5 min, each with a name and a starting minute."""
    inside = "".join(
        f"<trk><name>{name}</name><trkseg>"
        + "".join(
            f'<trkpt lat="{61.2001 + 0.0002 * t / 30:.7f}" lon="8.1005"><time>{day}T09:{minute + t // 60:02d}:'
            f"{t % 60:02d}Z</time></trkpt>"
            for t in range(0, 331, every_s)
        )
        + "</trkseg></trk>"
        for name, minute in tracks
    )
    head = '<gpx version="1.1" creator="example" xmlns="http://www.topografix.com/GPX/1/1">'
    return f'<?xml version="1.0"?>{head}{inside}</gpx>'.encode()


@pytest.fixture
def run(client: TestClient) -> str:
    client.put("/api/people/bram", json={"name": "Bram Vold"})
    client.put("/api/drills/fan", json={"document": DRILL})
    who = [{"searcher": "s1", "person_id": None}, {"searcher": "s2", "person_id": "bram"}]
    told = {"drill_id": "fan", "held_utc": "2026-02-14T09:30:00Z", "searchers": who}
    assert client.put("/api/runs/r", json=told).status_code == 201
    return "r"


def drop(client: TestClient, run: str, name: str, content: bytes) -> Any:
    return client.post(f"/api/runs/{run}/tracks", params={"file_name": name}, content=content)


def tell(client: TestClient, track: dict[str, Any], confirmed: bool = False, **told: Any) -> Any:
    fields = {key: track[key] for key in ("searcher", "parts", "clock_shift_s")} | told
    return client.put(
        f"/api/tracks/{track['id']}",
        json=fields,
        params={"confirmed": confirmed},
        headers={"If-Match": f'"{track["version"]}"'},
    )


def whose(client: TestClient, run: str) -> dict[str, Any]:
    tracks = client.get(f"/api/runs/{run}/tracks").json()
    return {one["file_name"]: (one["searcher"] or one["parts"] or None, one["matched"]) for one in tracks}


def test_contract_a_zip_is_unpacked_matched_and_kept_once(client: TestClient, run: str) -> None:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr("day/Bram Vold.gpx", gpx(("x", 30)))
        archive.writestr("day/phone.gpx", gpx(("y", 31)))
        archive.writestr("day/notes.txt", b"cold")
    first, again = (
        drop(client, run, "day.zip", data.getvalue()),
        drop(client, run, "day.zip", data.getvalue()),
    )
    assert first.status_code == 200, first.text
    assert len(first.json()["tracks"]) == 2
    assert in_english(first.json()["faults"]) == ["notes.txt: is not GPX, FIT, CSV (named .csv) or zip"]
    assert [one["id"] for one in again.json()["tracks"]] == [one["id"] for one in first.json()["tracks"]]
    assert whose(client, run) == {"Bram Vold.gpx": ("s2", "file name"), "phone.gpx": ("s1", "left over")}
    assert client.get("/api/tracks", params={"person_id": "bram"}).json()["items"][0]["searcher"] == "s2"


def test_contract_a_file_that_is_no_track_is_refused_in_words(client: TestClient, run: str) -> None:
    answer = drop(client, run, "notes.gpx", b"<html>")
    assert answer.status_code == 422
    assert in_english(answer.json()["faults"])[0].startswith("notes.gpx: ")
    assert client.get(f"/api/runs/{run}/tracks").json() == []


def test_contract_what_is_in_a_file_is_told(client: TestClient, run: str) -> None:
    drop(client, run, "both.gpx", gpx(("one", 30), ("two", 31)))
    (track,) = client.get(f"/api/runs/{run}/tracks").json()
    assert (track["at_once"], track["searcher"], track["matched"]) == (True, None, None)
    assert [one["name"] for one in track["inside"]] == ["one", "two"]
    first = track["inside"][0]
    assert (first["points"], first["from_utc"], first["to_utc"]) == (
        12,
        "2026-02-14T09:30:00Z",
        "2026-02-14T09:35:30Z",
    )
    # Eleven steps of 0.0002 degrees of latitude at 61.2 degrees north: 111.4 km a degree on WGS84.
    assert first["length_m"] == pytest.approx(11 * 0.0002 * 111_400, rel=0.05)


def test_contract_a_track_from_another_valley_says_so(client: TestClient, run: str) -> None:
    drop(client, run, "far.gpx", GPX.replace(b"61.2", b"47.2"))
    (track,) = client.get(f"/api/runs/{run}/tracks").json()
    assert "another valley" in in_english(track["inside"][0]["faults"][0])


def test_contract_a_wrong_guess_is_corrected_and_others_make_room(client: TestClient, run: str) -> None:
    drop(client, run, "a.gpx", gpx(("", 30)))
    drop(client, run, "b.gpx", gpx(("", 31)))
    assert whose(client, run) == {"a.gpx": ("s1", "left over"), "b.gpx": ("s2", "left over")}
    first = client.get(f"/api/runs/{run}/tracks").json()[0]
    assert tell(client, first, searcher="s2").status_code == 200
    assert whose(client, run) == {"a.gpx": ("s2", "told"), "b.gpx": ("s1", "left over")}
    assert tell(client, first, searcher="s1").status_code == 412
    second = client.get(f"/api/runs/{run}/tracks").json()[1]
    assert tell(client, second, confirmed=True).json()["matched"] == "told"


def test_contract_a_searcher_whom_the_drill_lacks_is_refused(client: TestClient, run: str) -> None:
    track = drop(client, run, "a.gpx", gpx(("", 30))).json()["tracks"][0]
    answer = tell(client, track, searcher=None, parts=["s9"])
    assert answer.status_code == 422
    assert in_english(answer.json()["faults"]) == ["parts[0]: the drill has no searcher 's9'; it has: s1, s2"]


def test_contract_splits_are_shown_with_every_fault_and_none_is_kept(client: TestClient, run: str) -> None:
    text = SPLITS + "yesterday,s1,,alarm,\n2026-02-14T09:31:00Z,nobody,Z,first_signal,\n"
    read = client.post(f"/api/runs/{run}/splits/read", content=text.encode())
    assert read.status_code == 200, read.text
    assert len(read.json()["rows"]) == 4
    faults = in_english(read.json()["faults"])
    assert [fault.partition(":")[0] for fault in faults] == ["line 5", "line 6", "line 6"]
    kept = client.post(f"/api/runs/{run}/splits/keep", content=text.encode())
    assert kept.status_code == 422
    assert in_english(kept.json()["faults"]) == faults
    assert client.get("/api/splits", params={"run_id": run}).json()["items"] == []


def test_contract_splits_dropped_twice_are_there_once_and_come_back_after_undo(
    client: TestClient, run: str
) -> None:
    post = f"/api/runs/{run}/splits/keep"
    assert client.post(post, content=SPLITS.encode()).json() == {"kept": 3, "there": 0}
    assert client.post(post, content=SPLITS.encode()).json() == {"kept": 0, "there": 3}
    splits = client.get("/api/splits", params={"run_id": run}).json()["items"]
    splits.sort(key=lambda one: one["time_unix_s"])
    assert [(one["split"], one["searcher"], one["burial"]) for one in splits] == [
        ("alarm", None, None),
        ("probe_strike", "s1", "A"),
    ]
    (seen,) = client.get("/api/observations", params={"run_id": run}).json()["items"]
    assert (seen["about"], seen["searcher"]) == ("leader_named", "s1")
    client.delete(f"/api/splits/{splits[0]['id']}")
    assert client.post(post, content=SPLITS.encode()).json() == {"kept": 1, "there": 2}


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b"a,b\n1,2\n", b'time,split\n"2026'])
def test_contract_what_is_no_table_of_splits_is_told(client: TestClient, run: str, content: bytes) -> None:
    answer = client.post(f"/api/runs/{run}/splits/read", content=content)
    assert answer.status_code == 200
    assert in_english(answer.json()["faults"])


def test_independent_route_splits_kept_from_a_file_come_out_of_the_records_as_the_file_says(
    client: TestClient, database: Database, run: str
) -> None:
    written = write_splits(read_splits(SPLITS))
    client.post(f"/api/runs/{run}/splits/keep", content=written.encode())
    drop(client, run, "a.gpx", gpx(("", 30)))
    rows = debrief_arguments(database, run)["splits"]
    assert {(row.split, row.time_unix_s) for row in rows} == {
        (row.split, row.time_unix_s) for row in read_splits(SPLITS).rows
    }


def test_contract_a_debrief_says_what_changed_since_it_was_made(
    client: TestClient, database: Database, run: str
) -> None:
    track = drop(client, run, "ines.gpx", gpx(("", 30))).json()["tracks"][0]
    standing = f"/api/runs/{run}/standing"
    assert client.get(standing).json() == {
        "debrief_id": None,
        "made_utc": None,
        "changed": [],
        "models": True,
        "older_model": False,
        "zone": "Europe/Oslo",
        "again": [],
        "namesakes": [],
    }
    from coldfield.app.debriefs.from_records import debrief_fields

    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.put("debriefs", "d", debrief_fields(store, run, DebriefDocument()), based_on=None)
    assert client.get(standing).json()["changed"] == []
    assert tell(client, track, clock_shift_s=60.0).status_code == 200
    client.post(f"/api/runs/{run}/splits/keep", content=SPLITS.encode())
    record = client.get(f"/api/runs/{run}")
    fields = {k: v for k, v in record.json().items() if k in ("drill_id", "held_utc", "searchers")}
    fields |= {"standards": [{"what": "airway", "most_s": 600.0}], "as_buried": DRILL["burials"][:1]}
    assert client.put(f"/api/runs/{run}", json=fields, headers={"If-Match": '"1"'}).status_code == 200
    assert client.get(standing).json()["changed"] == ["splits", "buried", "clocks", "standards"]


def test_contract_what_was_told_reaches_the_debrief(client: TestClient, database: Database, run: str) -> None:
    both = drop(client, run, "both.gpx", gpx(("one", 30), ("two", 31))).json()["tracks"][0]
    assert tell(client, both, parts=["s2", None], clock_shift_s=-30.0).status_code == 200
    arguments = {**debrief_arguments(database, run), "band_runs": 0}
    document = plain(debrief_work(**arguments, progress=not_told).document)
    tracks = {one["name"]: one["track"] for one in document["searchers"]}
    assert tracks["Ines"] is None
    assert tracks["Bram Vold"]["clock_shift_s"] == -30.0
    assert tracks["Bram Vold"]["file"] == "both.gpx"


def test_independent_route_a_kept_grid_lies_under_the_debrief(
    client: TestClient, database: Database, run: str
) -> None:
    drop(client, run, "s1.gpx", gpx(("Ines", 30), every_s=1))

    def lengths() -> tuple[float, list[str], tuple[HeightLines, ...]]:
        told = debrief_work(**{**debrief_arguments(database, run), "band_runs": 0}, progress=not_told)
        track = told.document.searchers[0].track
        assert track is not None
        assert track.length_m is not None
        assert told.document.site is not None
        return track.length_m, list(told.faults), told.document.site.contours

    flat_m, _, none = lengths()
    assert none == ()
    keep = "/api/drills/fan/grids/g1"
    north_m = np.arange(-60, 60) * 10.0
    answer = client.put(
        keep,
        content=ascii_grid(1180.0 + np.outer(0.5 * north_m, np.ones(120))),
        params={"file_name": "slope.asc", "crs": "site"},
    )
    assert answer.status_code == 201, answer.text
    steep_m, faults, contours = lengths()
    assert faults == []
    # The plan shows the grid's own contours: on this slope they are two metres apart for each metre of
    # height.
    for one in contours:
        norths = [north for line in one.lines_m for _, north in line]
        assert norths == pytest.approx([2.0 * (one.elevation_m - 1180.0)] * len(norths), abs=0.06)
    assert len(contours) > 5
    # A walk due north, level in the drill, up a slope of 1 in 2 on the grid: longer by the square root of 1 +
    # 1/4.
    assert steep_m / flat_m == pytest.approx(np.hypot(1.0, 0.5), rel=0.01)


def ascii_grid(height_m: np.ndarray) -> bytes:
    rows = "\n".join(" ".join(f"{v:.2f}" for v in row) for row in height_m[::-1])
    return f"ncols 120\nnrows 120\nxllcenter -600\nyllcenter -600\ncellsize 10\n{rows}".encode()


def test_contract_two_files_of_one_name_stay_apart(client: TestClient, database: Database, run: str) -> None:
    drop(client, run, "activity.gpx", gpx(("", 30)))
    drop(client, run, "activity.gpx", gpx(("", 31)))
    files = [track["file"] for track in debrief_arguments(database, run)["tracks"]]
    assert files == ["activity.gpx", "activity (2).gpx"]


def test_contract_a_track_told_to_be_nobodys_is_left_out(
    client: TestClient, database: Database, run: str
) -> None:
    track = drop(client, run, "ines.gpx", gpx(("", 30))).json()["tracks"][0]
    assert tell(client, track, searcher=None).json()["matched"] == "told"
    with pytest.raises(Exception, match="neither a track nor a split"):
        debrief_arguments(database, run)


def test_contract_splits_of_two_clocks_need_the_alarms_time(
    client: TestClient, database: Database, run: str
) -> None:
    drop(client, run, "ines.gpx", gpx(("", 30)))
    client.put("/api/splits/a", json={"run_id": run, "split": "probe_strike", "since_alarm_s": 60})
    client.put("/api/splits/b", json={"run_id": run, "split": "airway_clear", "time_unix_s": 1771061460})
    answer = client.put("/api/jobs/two-clocks", json={"work": "debrief", "run_id": run})
    assert answer.status_code == 422
    assert "give the alarm its time of day" in in_english(answer.json()["faults"])[0]


def test_contract_earlier_runs_of_the_same_people_stand_beside(
    client: TestClient, database: Database, run: str
) -> None:
    who = [{"searcher": "s1", "person_id": "bram"}]
    told = {"drill_id": "fan", "held_utc": "2026-01-10T09:30:00Z", "searchers": who}
    client.put("/api/runs/january", json=told)
    phases = [{"burial": "A", "phase": "coarse", "start_s": 10.0, "end_s": 70.0}]
    document = {"searchers": [{"id": "s1", "phases": phases}, {"id": "s2", "phases": phases * 3}]}
    fields = {"run_id": "january", "made_by": {}, "document": document}
    with database.write() as connection:
        Store(connection, database.stamp()).put("debriefs", "d-jan", fields, based_on=None)
    drop(client, run, "ines.gpx", gpx(("", 30)))
    kept = (Phase(burial="A", phase="coarse", start_s=10.0, end_s=70.0),)
    assert debrief_arguments(database, run)["earlier"] == [EarlierRun(model_version=None, phases=kept)]
    with database.read() as connection:
        store = Store(connection, database.stamp())
        before = rests_on(store, run)["earlier"]
    client.delete("/api/runs/january")
    with database.read() as connection:
        assert rests_on(Store(connection, database.stamp()), run)["earlier"] != before


def test_contract_runs_are_found_by_any_of_their_words(client: TestClient, database: Database) -> None:
    a_small_season(database)
    whole = client.get("/api/overview/runs").json()["items"]
    assert [(one["name"], one["drill"], one["course"]) for one in whole] == [
        ("Run 1", DRILL["name"], "February course")
    ]
    assert "Ines" in whole[0]["people"]
    assert (whole[0]["tracks"], whole[0]["debrief_id"]) == (1, None)
    for words, found in (("ines fan", 1), ("february", 1), ("2026-02", 1), ("ines nobody", 0), ("100%", 0)):
        answer = client.get("/api/overview/runs", params={"words": words}).json()
        assert len(answer["items"]) == found, words
    assert client.get("/api/overview/runs", params={"after": "nothing"}).status_code == 404


def test_contract_forgetting_takes_the_file_a_person_is_part_of(client: TestClient, run: str) -> None:
    both = drop(client, run, "both.gpx", gpx(("one", 30), ("two", 31))).json()["tracks"][0]
    tell(client, both, parts=["s1", "s2"])
    assert client.post("/api/people/bram/forget").status_code == 200
    assert client.get(f"/api/runs/{run}/tracks").json() == []


def test_contract_a_kept_debrief_gives_its_phases_and_cleaned_tracks(
    client: TestClient, database: Database, run: str
) -> None:
    import gpxpy

    from coldfield.app.debriefs.from_records import debrief_fields

    drop(client, run, "ines.gpx", gpx(("", 30)))
    arguments = {**debrief_arguments(database, run), "band_runs": 0}
    document = debrief_work(**arguments, progress=not_told).document
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.put("debriefs", "d", debrief_fields(store, run, document), based_on=None)
    (track,) = gpxpy.parse(client.get("/debriefs/d/tracks.gpx").text).tracks
    first = track.segments[0].points[0]
    assert (track.name, first.time.isoformat()) == ("Ines", "2026-02-14T09:30:00+00:00")
    assert (first.latitude, first.longitude) == pytest.approx((61.2001, 8.1005), abs=3e-5)
    assert client.get("/debriefs/d/phases.csv").text.startswith("searcher,name,burial,phase,")
    assert client.get("/debriefs/none/phases.csv").status_code == 404


def test_regression_a_place_on_earth_that_was_told_after_the_run_counts_for_its_tracks(
    client: TestClient, database: Database, run: str
) -> None:
    import gpxpy

    from coldfield.app.debriefs.from_records import debrief_fields

    drop(client, run, "ines.gpx", gpx(("", 30)))
    document = debrief_work(
        **{**debrief_arguments(database, run), "band_runs": 0}, progress=not_told
    ).document
    nowhere = copy.deepcopy(DRILL)
    nowhere["site"]["origin"] |= {"latitude_deg": 0, "longitude_deg": 0}
    client.put("/api/drills/meadow", json={"document": nowhere})
    told = {"drill_id": "meadow", "held_utc": "2026-02-14T09:30:00Z"}
    assert client.put("/api/runs/m", json=told).status_code == 201
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.put("debriefs", "m", debrief_fields(store, "m", document), based_on=None)

    def tell_place(version: int, drawn: dict[str, Any]) -> None:
        answer = client.put(
            "/api/drills/meadow", json={"document": drawn}, headers={"If-Match": f'"{version}"'}
        )
        assert answer.status_code == 200, answer.text

    refused = client.get("/debriefs/m/tracks.gpx")
    assert (refused.status_code, in_english(refused.json()["faults"])[0][:12]) == (422, "site.origin:")
    tell_place(1, DRILL)
    (track,) = gpxpy.parse(client.get("/debriefs/m/tracks.gpx").text).tracks
    first = track.segments[0].points[0]
    assert (first.latitude, first.longitude) == pytest.approx((61.2001, 8.1005), abs=3e-5)
    # A different ground says nothing about where the run was.
    elsewhere = copy.deepcopy(DRILL)
    elsewhere["site"]["boundary_m"][0][0] -= 1.0
    tell_place(2, elsewhere)
    assert client.get("/debriefs/m/tracks.gpx").status_code == 422


def test_contract_people_told_later_get_their_tracks(client: TestClient, run: str) -> None:
    drop(client, run, "s1.gpx", gpx(("", 30)))
    client.put("/api/people/ines", json={"name": "Ines"})
    who = [{"searcher": "s1", "person_id": "ines"}, {"searcher": "s2", "person_id": "bram"}]
    told = {"drill_id": "fan", "held_utc": "2026-02-14T09:30:00Z", "searchers": who}
    assert client.put(f"/api/runs/{run}", json=told, headers={"If-Match": '"1"'}).status_code == 200
    (track,) = client.get("/api/tracks", params={"person_id": "ines"}).json()["items"]
    assert track["file_name"] == "s1.gpx"


def test_contract_a_drills_names_give_way_to_those_of_people(
    client: TestClient, database: Database, run: str
) -> None:
    drop(client, run, "x.gpx", gpx(("", 30)))
    names = [one["name"] for one in debrief_arguments(database, run)["drill"]["searchers"]]
    assert names == ["Ines", "Bram Vold"]
    assert drill()["searchers"][1]["name"] == "Bram"


# --- read and measured once -------------------------------------------------------------------------


@pytest.fixture
def readings(monkeypatch) -> list[str]:
    """Collect the names of the files that are parsed."""
    seen: list[str] = []

    def told(data: bytes, name: str, *others: Any) -> Any:
        seen.append(name)
        return read_track_file(data, name, *others)

    monkeypatch.setattr(track_measures, "read_track_file", told)
    return seen


def test_contract_a_track_is_parsed_once_when_it_comes(client: TestClient, run: str, readings) -> None:
    drop(client, run, "a.gpx", gpx(("", 30)))
    track = drop(client, run, "b.gpx", gpx(("", 31))).json()["tracks"][0]
    client.put(f"/api/runs/{run}/tracks/third", params={"file_name": "c.gpx"}, content=gpx(("", 32)))
    assert readings == ["a.gpx", "b.gpx", "c.gpx"]
    for _ in range(3):
        listed = client.get(f"/api/runs/{run}/tracks").json()
        assert [one["inside"][0]["points"] for one in listed] == [12, 12, 12]
    tell(client, track, searcher="s1")
    client.get(f"/api/runs/{run}/tracks")
    assert readings == ["a.gpx", "b.gpx", "c.gpx"]


def test_contract_other_rules_or_another_ground_measure_again(
    client: TestClient, run: str, readings, monkeypatch
) -> None:
    drop(client, run, "a.gpx", gpx(("", 30)))
    address, drilled = f"/api/runs/{run}/tracks", client.get("/api/drills/fan").json()
    monkeypatch.setattr(track_measures, "_code", lambda: "other rules")
    client.get(address)
    assert readings == ["a.gpx"] * 2
    moved = copy.deepcopy(DRILL)
    moved["site"]["origin"]["latitude_deg"] += 1.0
    changed = client.put(
        "/api/drills/fan", json={"document": moved}, headers={"If-Match": f'"{drilled["version"]}"'}
    )
    assert changed.status_code == 200, changed.text
    client.get(address)
    assert readings == ["a.gpx"] * 2  # the run was on the previous version
    stored = client.get(f"/api/runs/{run}").json()
    fields = {key: stored[key] for key in ("drill_id", "held_utc", "searchers")} | {"drill_version": 2}
    client.put(f"/api/runs/{run}", json=fields, headers={"If-Match": f'"{stored["version"]}"'})
    (track,) = client.get(address).json()
    assert readings == ["a.gpx"] * 3
    assert "another valley" in in_english(track["inside"][0]["faults"][0])


def test_contract_what_was_measured_goes_with_its_track_and_is_not_exported(
    client: TestClient, database: Database, run: str
) -> None:
    drop(client, run, "a.gpx", gpx(("", 30)))

    def kept() -> int:
        with database.read() as connection:
            return connection.execute(select(func.count()).select_from(track_measure)).scalar_one()

    assert kept() == 1
    exported = client.get("/api/export").content
    assert b"inside" not in b"".join(_members(exported).values())
    with database.write() as connection:
        connection.execute(delete(original))
        connection.execute(delete(track_table))
    assert kept() == 0


def test_contract_imported_tracks_are_measured_when_they_are_first_listed(
    client: TestClient, database: Database, run: str, readings
) -> None:
    drop(client, run, "a.gpx", gpx(("", 30)))
    before = client.get(f"/api/runs/{run}/tracks").json()
    exported = client.get("/api/export").content
    with database.write() as connection:
        connection.execute(delete(track_measure))
        connection.execute(delete(original))
        connection.execute(delete(track_table))
    brought = client.post("/api/import", params={"file_name": "all.zip"}, content=exported)
    assert brought.json()["new"] == {"tracks": 1}
    assert readings == ["a.gpx"]
    assert client.get(f"/api/runs/{run}/tracks").json() == before
    assert client.get(f"/api/runs/{run}/tracks").json() == before
    assert readings == ["a.gpx"] * 2


def test_contract_a_busy_store_keeps_nobody_from_looking(client: TestClient, run: str, monkeypatch) -> None:
    def busy(*_told: Any) -> None:
        raise StoreTrouble("busy", kind="locked")

    monkeypatch.setattr(track_measures, "keep_measures", busy)
    client.put(f"/api/runs/{run}/tracks/t", params={"file_name": "c.gpx"}, content=gpx(("", 32)))
    assert client.get(f"/api/runs/{run}/tracks").json()[0]["inside"][0]["points"] == 12


FAR_APART = [
    ("2025-06-14T09:30:00Z", "2026-02-14T09:30:00Z"),
    ("1900-01-01T00:00:00Z", "2026-02-14T09:30:00Z"),
    ("0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"),
]


@pytest.mark.parametrize("times", FAR_APART)
def test_regression_points_months_apart_cost_what_points_cost(
    client: TestClient, database: Database, run: str, times: tuple[str, str]
) -> None:
    points = [(61.2001, 8.1005, time) for time in times]
    content = recorded_gpx([("", points)])
    answer = drop(client, run, "a.gpx", content)
    assert answer.status_code == 422
    assert "line " in in_english(answer.json()["faults"])[0]
    # If kept by an earlier version, it is listed with its fault, within 30 MB.
    client.put(f"/api/runs/{run}/tracks/t", params={"file_name": "a.gpx"}, content=content)
    tracemalloc.start()
    (track,) = client.get(f"/api/runs/{run}/tracks").json()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert in_english(track["faults"]) == in_english(answer.json()["faults"])
    assert peak < 30e6


def _members(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_regression_a_split_at_a_moment_that_is_not_kept_is_told_with_its_line(
    client: TestClient, run: str
) -> None:
    text = "time,searcher,burial,split,note\n1969-12-31T23:00:00Z,,,alarm,\n2101-01-01T00:00:00Z,,,alarm,\n"
    read = client.post(f"/api/runs/{run}/splits/read", content=text.encode())
    faults = in_english(read.json()["faults"])
    assert [fault.partition(": '")[0] for fault in faults] == ["line 2: time", "line 3: time"]
    kept = client.post(f"/api/runs/{run}/splits/keep", content=text.encode())
    assert (kept.status_code, in_english(kept.json()["faults"])) == (422, faults)


def test_contract_a_file_that_another_run_keeps_too_is_told_with_that_run(
    client: TestClient, run: str
) -> None:
    told = {"drill_id": "fan", "held_utc": "2026-02-21T09:30:00Z", "name": "A week later"}
    assert client.put("/api/runs/later", json=told).status_code == 201
    for one in (run, "later"):
        drop(client, one, "ines.gpx", gpx(("Ines", 30)))
    drop(client, run, "bram.gpx", gpx(("Bram", 31)))
    also = {one["file_name"]: one["also_in"] for one in client.get(f"/api/runs/{run}/tracks").json()}
    assert [one["name"] for one in also["ines.gpx"]] == ["A week later"]
    assert also["bram.gpx"] == []
    client.delete("/api/runs/later")
    assert client.get(f"/api/runs/{run}/tracks").json()[0]["also_in"] == []


def test_contract_splits_that_stand_twice_and_people_of_the_same_name_are_told(
    client: TestClient, run: str
) -> None:
    client.put("/api/splits/a", json={"run_id": run, "split": "strike", "burial": "A", "since_alarm_s": 60})
    client.put(
        "/api/splits/b",
        json={
            "run_id": run,
            "split": "probe_strike",
            "burial": "A",
            "searcher": "s1",
            "since_alarm_s": 62,
        },
    )
    name = next(one["name"] for one in DRILL["searchers"] if one["id"] == "s1")
    client.put("/api/people/one", json={"name": name.upper()})
    told = client.get(f"/api/runs/{run}/standing").json()
    assert told["again"] == [{"split": "probe_strike", "burial": "A", "searcher": "s1", "ids": ["a", "b"]}]
    assert told["namesakes"] == [{"searcher": "s1", "person_id": "one", "name": name.upper()}]
    client.put("/api/people/two", json={"name": name})
    assert client.get(f"/api/runs/{run}/standing").json()["namesakes"] == []  # unknown which of the two

    csv = "t_s,searcher,burial,split,note\n62,s1,A,Probe strike,\n64,,A,strike,\n90,s1,A,airway,\n"
    read = client.post(f"/api/runs/{run}/splits/read", content=csv).json()
    assert (read["again"], read["faults"]) == ([3], [])  # the first exists already, word for word


def test_contract_a_run_of_observations_alone_is_debriefed(
    client: TestClient, database: Database, run: str
) -> None:
    client.put("/api/observations/o", json={"run_id": run, "about": "call_made", "seen": False})
    told = plain(debrief_work(**debrief_arguments(database, run), progress=not_told).document)
    assert [(one["seen"], one["not_seen"]) for one in told["observed"]] == [(0, 1)]
    assert [one["exercise"]["id"] for one in told["findings"]] == ["first_minute"]
