import json
from pathlib import Path

import gpxpy
import numpy as np
import pytest
from click.testing import CliRunner
from pyproj import Transformer

import coldfield.app
from coldfield.app.drills.files import load_drill
from coldfield.app.strips.lanes import lanes_for
from coldfield.cli.main import group
from coldfield.paper.lane_card import heading_words
from coldfield.words import say

DEMO = Path(coldfield.app.__file__).parent / "demo/drill.json"


def _run(*words: str):
    return CliRunner().invoke(group, ["strips", str(DEMO), *words])


def test_contract_json_has_the_promised_keys() -> None:
    result = _run("--strip-width-m", "20", "--json")
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert {
        "strip_width_m",
        "covered_fraction",
        "seconds",
        "seconds_lower_bound",
        "heading_deg",
    } <= told.keys()
    assert [lane["searcher"] for lane in told["lanes"]] == ["ines", "bram", "yuki", "tomas"]
    assert {"line_m", "length_m", "seconds"} <= told["lanes"][0].keys()
    assert told["covered_fraction"] == 1.0


def test_contract_a_heading_is_taken_from_the_drill_or_the_command(tmp_path: Path) -> None:
    assert json.loads(_run("--heading-deg", "200", "--json").stdout)["heading_deg"] == pytest.approx(20.0)
    fixed = json.loads(DEMO.read_text())
    fixed["conditions"] = {**fixed.get("conditions", {}), "lane_heading_deg": 77}
    (tmp_path / "fixed.json").write_text(json.dumps(fixed))
    told = CliRunner().invoke(group, ["strips", str(tmp_path / "fixed.json"), "--json"])
    assert json.loads(told.stdout)["heading_deg"] == pytest.approx(77.0)
    # The card that people carry has the same lanes.
    drill = load_drill(tmp_path / "fixed.json")
    assert "(77° true)" in say(heading_words(drill.site, lanes_for(drill, sharing="line abreast")))


def test_contract_more_people_than_the_drill_has() -> None:
    told = json.loads(_run("--strip-width-m", "50", "--searchers", "7", "--json").stdout)
    walkers = {lane["searcher"] for lane in told["lanes"]}
    assert len(walkers) + len(told["free_hands"]) == 7
    assert "extra-3" in walkers | set(told["free_hands"])


def test_independent_route_lanes_open_in_other_programs(tmp_path: Path) -> None:
    # Read back with gpxpy and laid on the site by PROJ's topocentric frame; 8 decimals are 1.1 mm.
    gpx, geojson = tmp_path / "lanes.gpx", tmp_path / "lanes.geojson"
    args = ("--strip-width-m", "20", "--json", "--gpx", str(gpx), "--geojson", str(geojson))
    told = json.loads(_run(*args).stdout)
    site = json.loads(DEMO.read_text())["site"]
    o = site["origin"]
    to_site = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=cart +ellps=WGS84 +step "
        f"+proj=topocentric +ellps=WGS84 +lon_0={o['longitude_deg']} +lat_0={o['latitude_deg']} +h_0={o['elevation_m']}"
    )
    read = gpxpy.parse(gpx.read_text())
    features = json.loads(geojson.read_text())["features"]
    lines = [f["geometry"]["coordinates"] for f in features if f["geometry"]["type"] == "LineString"]
    assert [w.name for w in read.waypoints] == ["Start Ines", "Start Bram", "Start Yuki", "Start Tomas"]
    for lane, track, line in zip(told["lanes"], read.tracks, lines, strict=True):
        points = [(p.longitude, p.latitude) for p in track.segments[0].points]
        np.testing.assert_allclose(points, line, atol=1e-12)
        lon, lat = np.array(points).T
        east, north, _ = to_site.transform(lon, lat, np.full(len(lon), o["elevation_m"]))
        np.testing.assert_allclose(np.column_stack([east, north]), lane["line_m"], atol=0.005)


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        (("--strip-width-m", "0"), "strip_width_m: must be above 0"),
        (("--strip-width-m", "nan"), "strip_width_m: must be above 0"),
        (("--strip-width-m", "20", "--searchers", "0"), "searchers: must be from 1"),
        (("--strip-width-m", "20", "--gpx", "/nowhere/at/all.gpx"), "cannot be written"),
    ],
)
def test_contract_bad_input_is_one_line(words, fault) -> None:
    result = _run(*words)
    assert result.exit_code != 0
    assert fault in str(result.exception)


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_contract_the_plan_is_drawn(tmp_path: Path, ending: str) -> None:
    out = tmp_path / f"lanes.{ending}"
    result = _run("--strip-width-m", "30", "--map", str(out))
    assert result.exit_code == 0, result.output
    assert out.read_bytes()[:5] in (b"<?xml", b"\x89PNG\r")


def test_contract_line_abreast_can_be_asked_for() -> None:
    told = json.loads(_run("--strip-width-m", "20", "--sharing", "line abreast", "--json").stdout)
    assert told["sharing"] == "line abreast"
    assert told["covered_fraction"] == 1.0


def test_contract_chances_of_one_and_two_passes(tmp_path: Path) -> None:
    out = tmp_path / "chance.png"
    told = json.loads(_run("--strip-width-m", "40", "--chance", "--chance-map", str(out), "--json").stdout)
    once, twice = told["detection"], told["detection"]["second_pass"]
    assert 0.5 < once["least_probability"] <= once["mean_probability"] <= 1.0
    assert twice["least_probability"] >= once["least_probability"]
    assert twice["strip_width_m"] == 20.0
    assert out.read_bytes()[:4] == b"\x89PNG"
    assert "a set is heard after one pass" in _run("--strip-width-m", "40", "--chance").stdout


def test_contract_when_one_drops_out_the_others_share_the_rest() -> None:
    told = json.loads(_run("--strip-width-m", "20", "--gone", "bram", "--after-s", "60", "--json").stdout)
    assert [lane["searcher"] for lane in told["lanes"]] == ["ines", "yuki", "tomas"]
    assert told["covered_fraction"] == pytest.approx(1.0, abs=1e-4)
    assert "there are: ines" in str(_run("--strip-width-m", "20", "--gone", "nobody").exception)
