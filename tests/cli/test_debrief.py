from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import gpxpy
import numpy as np
import pytest
from click.testing import CliRunner

from coldfield.cli.main import group
from coldfield.drill import Origin, Splits
from coldfield.drill.frame import SiteFrame
from coldfield.errors import ColdfieldError
from coldfield.files.drill_json import write_drill
from coldfield.files.gpx import write_gpx
from coldfield.files.run_csv import write_splits
from coldfield.files.track_file import read_track_file
from made_walks import drill, lane_then_flux_line, recorded_by, splits_of
from recorded_tracks import DATA, gpx
from warm_commands import command

RIDE_GPX = DATA / "sweat" / "activity_5039744860.gpx"
RIDE_FIT = DATA / "sweat" / "2020-06-01-16-52-40.fit"


@dataclass(frozen=True)
class Result:
    returncode: int
    stdout: str
    stderr: str


def run(*words: object) -> Result:
    """Call the command as `coldfield` does, including faults, without a separate process."""
    result = CliRunner().invoke(group, ["debrief", *map(str, words)])
    if isinstance(result.exception, ColdfieldError):
        return Result(2, result.stdout, result.stderr + f"{result.exception}\n")
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return Result(result.exit_code, result.stdout, result.stderr)


@pytest.fixture(scope="module")
def ride(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drill whose two burials lie on the line of a recorded ride, and the ride's files by its people."""
    folder = tmp_path_factory.mktemp("ride")
    (recorded,), _ = read_track_file(RIDE_GPX.read_bytes(), "x.gpx")
    lat, lon = (float(v) for v in recorded.place[40])
    frame = SiteFrame(Origin(latitude_rad=lat, longitude_rad=lon, elevation_m=0.0))
    line = frame.from_wgs84(recorded.place[:, 0], recorded.place[:, 1])
    burials = [
        {
            "id": name,
            "position_m": line[i].round(2).tolist(),
            "depth_m": 0.8,
            "antenna": {"azimuth_deg": 40, "tilt_deg": 10},
            "transmitter": {"field_at_10m_ua_per_m": 1.0},
        }
        for name, i in (("A", 30), ("B", 45))
    ]
    receiver = {"coaxial_range_m": 45, "antennas": 3}
    planned = {
        "format": "coldfield-drill/1",
        "name": "Ride",
        "site": {
            "origin": {
                "latitude_deg": float(np.degrees(lat)),
                "longitude_deg": float(np.degrees(lon)),
                "elevation_m": 0,
            },
            "boundary_m": [[-120, -120], [120, -120], [120, 120], [-120, 120]],
            "slope_deg": 0,
            "aspect_deg": 180,
            "entry_m": [0, 0],
        },
        "burials": burials,
        "searchers": [
            {"id": who, "name": name, "skill": "practised", "receiver": receiver}
            for who, name in (("s1", "Ines"), ("s2", "Bram"))
        ],
        "conditions": {
            "noise_rise_db": 0,
            "snow_density_kg_m3": 400,
            "travel": "on foot",
            "strip_width_m": 30,
        },
    }
    (folder / "drill.json").write_text(json.dumps(planned))
    (folder / "INES.gpx").write_bytes(RIDE_GPX.read_bytes())
    (folder / "s2.fit").write_bytes(RIDE_FIT.read_bytes())
    return folder


@pytest.fixture(scope="module")
def told(ride: Path) -> dict[str, Any]:
    result = run(ride / "drill.json", ride / "INES.gpx", ride / "s2.fit", "--json")
    assert result.returncode == 0, result.stderr
    assert result.stderr == ""
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def test_independent_route_a_recorded_ride_end_to_end_has_the_length_and_time_gpxpy_tells(told) -> None:
    theirs = gpxpy.parse(RIDE_GPX.read_text()).tracks[0]
    for searcher in told["searchers"]:
        track = searcher["track"]
        assert track["points"] == 96
        assert track["seconds"] == pytest.approx(126.0)
        assert track["raw_length_m"] == pytest.approx(theirs.length_2d(), rel=5e-3)
        assert track["length_m"] == pytest.approx(track["raw_length_m"], rel=0.02)
        assert track["accuracy_m"] > 3.0


def test_independent_route_gpx_and_fit_of_one_ride_debrief_alike(told) -> None:
    a, b = told["searchers"]
    assert [one["seconds"] for one in a["audible"]] == [one["seconds"] for one in b["audible"]]
    for one, other in zip(a["phases"], b["phases"], strict=True):
        assert (one["burial"], one["phase"]) == (other["burial"], other["phase"])
        assert one["end_s"] == pytest.approx(other["end_s"], abs=1.0)
        assert one["length_m"] == pytest.approx(other["length_m"], abs=1.0)
    assert all(one["seconds"] > 5 for one in a["audible"])
    assert told["run"]["time_zero"] == "first track point"


def test_contract_promised_keys_are_there(told) -> None:
    assert {"searchers", "swept_fraction", "gaps", "findings", "burials", "run"} <= told.keys()
    searcher = told["searchers"][0]
    assert {"id", "track", "audible", "phases"} <= searcher.keys()
    for phase in searcher["phases"]:
        assert {
            "burial",
            "phase",
            "start_s",
            "end_s",
            "border_uncertainty_s",
            "length_m",
            "speed_m_s",
            "flux_line_ratio",
        } <= phase.keys()


def test_contract_bad_tracks_are_one_line_each_and_the_rest_is_debriefed(ride: Path, tmp_path: Path) -> None:
    bad = {
        "s2.gpx": b"<gpx><trk>",
        "nobody.gpx": RIDE_GPX.read_bytes(),
        "bram.gpx": (DATA / "gpxpy" / "around-visnjan-with-car.gpx").read_bytes(),
    }
    for name, data in bad.items():
        (tmp_path / name).write_bytes(data)
    with (tmp_path / "huge.gpx").open("wb") as huge:
        huge.truncate(200_000_000)
    names = (*bad, "gone.gpx", "huge.gpx")
    result = run(ride / "drill.json", ride / "INES.gpx", *(tmp_path / n for n in names), "--json")
    assert result.returncode == 0, result.stderr
    lines = result.stderr.splitlines()
    assert len(lines) == 5, lines
    for name in names:
        assert sum(name in line for line in lines) == 1
    searchers = json.loads(result.stdout)["searchers"]
    assert searchers[0]["track"] is not None
    assert searchers[1]["track"] is None


def test_contract_nothing_left_to_work_on_is_exit_2_and_writes_nothing(ride: Path, tmp_path: Path) -> None:
    valley = [(46.0, 7.5, f"2026-02-14T09:30:{i:02d}Z") for i in range(20)]
    (tmp_path / "s1.gpx").write_bytes(gpx([("", valley)]))
    out = tmp_path / "out.csv"
    ended = command("debrief", ride / "drill.json", tmp_path / "s1.gpx", "--csv", out, "--json")
    assert (ended.code, ended.said) == (2, "")
    assert "another valley" in ended.faults
    assert "Traceback" not in ended.faults
    assert not out.exists()


def test_contract_a_track_of_another_day_is_told(ride: Path, tmp_path: Path) -> None:
    splits = tmp_path / "splits.csv"
    splits.write_text(
        "time,searcher,burial,split,note\n2020-05-31T14:52:40Z,,,alarm,\n2020-05-31T14:54:00Z,s1,A,probe_strike,\n"
    )
    result = run(ride / "drill.json", ride / "INES.gpx", "--splits", splits, "--json")
    assert result.returncode == 2
    assert "no overlap in time" in result.stderr
    assert "is 1 day after the splits" in result.stderr.replace("\xa0", " ")
    assert "shift it by −24 h" in result.stderr.replace("\xa0", " ")
    shifted = run(
        ride / "drill.json",
        ride / "INES.gpx",
        "--splits",
        splits,
        "--shift",
        "INES.gpx=-86400",
        "--shift",
        "splits=0",
        "--json",
    )
    assert shifted.returncode == 0, shifted.stderr
    assert json.loads(shifted.stdout)["searchers"][0]["track"]["clock_shift_s"] == -86400


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A made-up run with two people, in files."""
    folder = tmp_path_factory.mktemp("made")
    planned = drill()
    truth = lane_then_flux_line(planned)
    assert truth is not None
    (folder / "drill.json").write_text(write_drill(planned))
    one = recorded_by(truth.t_s, truth.position_m, seed=1)
    two = recorded_by(np.array([0.0, 80.0]), np.array([[15.0, -10.0], [15.0, 86.0]]), seed=2)
    pieces = [(r.unix_s, r.place[:, 0], r.place[:, 1]) for r in (one, two)]
    (folder / "run.gpx").write_text(write_gpx([("Ines", pieces[:1]), ("BRAM", pieces[1:])]))
    (folder / "splits.csv").write_text(write_splits(splits_of(truth)))
    return folder


def test_contract_several_people_in_one_file_by_the_names_of_their_tracks(made: Path, tmp_path: Path) -> None:
    table, tracks, page = tmp_path / "phases.csv", tmp_path / "cleaned", tmp_path / "earlier.json"
    result = run(
        made / "drill.json", made / "run.gpx", "--splits", made / "splits.csv", "--csv", table, "--gpx", tracks,
        "--standard", "fine=5", "--standard", "strike=900", "--json",
    )  # fmt: skip
    assert result.returncode == 0, result.stderr
    told = json.loads(result.stdout)
    assert all(s["track"] is not None for s in told["searchers"])
    kinds = {(f["kind"], f["praise"]) for f in told["findings"]}
    assert ("standard_met", True) in kinds
    rows = list(csv.DictReader(table.read_text().splitlines()))
    assert [row["phase"] for row in rows if row["searcher"] == "s1"] == [
        "signal",
        "coarse",
        "fine",
        "probe",
        "dig",
    ]
    cleaned = gpxpy.parse((tracks / "s1.gpx").read_text()).tracks[0]
    assert cleaned.name == "Ines"
    assert cleaned.length_2d() < told["searchers"][0]["track"]["raw_length_m"]
    page.write_text(result.stdout)
    again = run(
        made / "drill.json", made / "run.gpx", "--splits", made / "splits.csv", "--earlier", page, "--json"
    )
    assert {one["phase"] for one in json.loads(again.stdout)["earlier"]} >= {"coarse", "dig"}


def test_contract_what_is_printed_for_people_says_findings_phases_and_doubts(made: Path) -> None:
    result = run(made / "drill.json", made / "run.gpx", "--splits", made / "splits.csv", "--simulated")
    assert result.returncode == 0, result.stderr
    for words in (
        "made in the computer",
        "Ines",
        "Bram",
        "signal",
        "within",
        "swept",
        "survival by the published",
    ):
        assert words in result.stdout


def test_contract_as_buried_replaces_the_plan(made: Path, tmp_path: Path) -> None:
    from dataclasses import replace

    planned = drill()
    moved = replace(planned, burials=(replace(planned.burials[0], position_m=(24.0, 43.0)),))
    record = tmp_path / "buried.json"
    record.write_text(write_drill(moved))
    result = run(made / "drill.json", made / "run.gpx", "--as-buried", record, "--json")
    assert json.loads(result.stdout)["burials"][0]["position_m"] == [24.0, 43.0]


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        (("--shift", "ines"), "FILE=SECONDS"),
        (("--standard", "lunch=3"), "PHASE=SECONDS"),
        (("--splits", "nowhere.csv"), "no such file"),
    ],
)
def test_contract_bad_options_are_exit_2(made: Path, words: tuple[str, ...], fault: str) -> None:
    result = run(made / "drill.json", made / "run.gpx", *words)
    assert result.returncode == 2
    assert fault in result.stderr
    assert not Splits().rows


def test_contract_splits_alone_make_a_debrief_and_its_page(made: Path, tmp_path: Path) -> None:
    splits = tmp_path / "splits.csv"
    splits.write_text(
        "t_s,searcher,burial,split,note\n0,,,alarm,\n60,s1,A,first_signal,\n200,s1,A,probe_strike,\n300,,A,airway_clear,\n"
    )
    page = tmp_path / "page.html"
    result = run(made / "drill.json", "--splits", splits, "--html", page)
    assert (result.returncode, result.stderr) == (0, "")
    assert "No track was recorded" in result.stdout
    assert "unknown at A: coarse, fine, probe (missing splits: within 10 m, lowest reading)" in result.stdout
    assert page.stat().st_size > 10_000
    told = json.loads(run(made / "drill.json", "--splits", splits, "--json").stdout)
    assert [p["phase"] for s in told["searchers"] for p in s["phases"]] == ["signal", "dig"]
    refused = run(made / "drill.json", "--splits", splits, "--gpx", tmp_path / "gpx")
    assert (refused.returncode, (tmp_path / "gpx").exists()) == (2, False)
    assert "no track was recorded" in refused.stderr
