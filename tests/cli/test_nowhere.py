"""A drill without a map position: no file with coordinates is written, and the error names the missing key."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

import coldfield.app
from coldfield.app.drills.new import drill_on_square
from coldfield.cli.main import group
from coldfield.debrief.tracks.track import screen
from coldfield.drill.frame import SiteFrame
from coldfield.drill.recorded import Recorded
from coldfield.errors import BadInput
from coldfield.files.contour_file import contours_geojson
from coldfield.files.lane_files import lanes_geojson, lanes_gpx
from coldfield.search.lanes.plan import Lane

DEMO = Path(coldfield.app.__file__).parent / "demo/drill.json"
GRID = "ncols 5\nnrows 5\nxllcorner -200\nyllcorner -200\ncellsize 100\n" + "1 2 3 4 5\n" * 5


def lying_at(path: Path, latitude_deg: float, longitude_deg: float) -> Path:
    """Write the demo's drill with another map position."""
    document = json.loads(DEMO.read_text())
    document["site"]["origin"] |= {"latitude_deg": latitude_deg, "longitude_deg": longitude_deg}
    path.write_text(json.dumps(document))
    return path


def run(*words: str) -> Any:
    return CliRunner().invoke(group, words)


def refusal(result: Any) -> str:
    """Return the text of a refusal, which `coldfield` prints on stderr with exit code 2."""
    assert isinstance(result.exception, BadInput)
    return str(result.exception)


@pytest.mark.parametrize(
    ("command", "option", "more"),
    [
        ("strips", "--gpx", ("--strip-width-m", "20")),
        ("strips", "--geojson", ("--strip-width-m", "20")),
        ("ground", "--contours", ("--crs", "site")),
        ("debrief", "--gpx", ("ines.gpx",)),
    ],
)
def test_regression_no_command_writes_coordinates_of_a_drill_that_lies_nowhere(
    tmp_path: Path, command: str, option: str, more: tuple[str, ...]
) -> None:
    drill, out, grid = lying_at(tmp_path / "drill.json", 0, 0), tmp_path / "out", tmp_path / "grid.asc"
    grid.write_text(GRID)
    files = ("--elevation", str(grid)) if command == "ground" else ()
    result = run(command, str(drill), option, str(out), *files, *more)
    told = refusal(result)
    assert told.startswith(f"{drill}: site.origin: ")
    assert "latitude_deg" in told
    assert "longitude_deg" in told
    assert not out.exists()
    assert result.stdout == ""


def test_contract_what_has_no_coordinates_is_written_all_the_same(tmp_path: Path) -> None:
    drill, out = lying_at(tmp_path / "drill.json", 0, 0), tmp_path / "plan.svg"
    result = run("strips", str(drill), "--strip-width-m", "20", "--map", str(out))
    assert result.exit_code == 0, result.output
    assert out.exists()


@pytest.mark.parametrize("place", [(0.0, 8.1), (61.2, 0.0), (-0.2, 0.0)])
def test_contract_a_drill_on_the_equator_or_on_the_prime_meridian_lies_somewhere(
    tmp_path: Path, place: tuple[float, float]
) -> None:
    drill, out = lying_at(tmp_path / "drill.json", *place), tmp_path / "lanes.geojson"
    assert run("strips", str(drill), "--strip-width-m", "20", "--geojson", str(out)).exit_code == 0
    first = json.loads(out.read_text())["features"][0]["geometry"]["coordinates"][0]
    np.testing.assert_allclose(first, place[::-1], atol=0.01)


@pytest.mark.parametrize("origin", ["null", "missing"])
def test_contract_a_drill_file_without_an_origin_is_refused_at_that_key(tmp_path: Path, origin: str) -> None:
    document = json.loads(DEMO.read_text())
    if origin == "null":
        document["site"]["origin"] = None
    else:
        del document["site"]["origin"]
    drill, out = tmp_path / "drill.json", tmp_path / "lanes.gpx"
    drill.write_text(json.dumps(document))
    result = run("strips", str(drill), "--gpx", str(out))
    assert f"{drill}: site.origin: " in refusal(result)
    assert not out.exists()


LANE = Lane(searcher="s1", line_m=np.array([[0.0, 0.0], [9.0, 9.0]]), length_m=12.7, seconds=11.0)
WRITERS: dict[str, Callable[[SiteFrame], str]] = {
    "lanes as GPX": lambda frame: lanes_gpx([LANE], frame, names={}, title="t"),
    "lanes as GeoJSON": lambda frame: lanes_geojson([LANE], frame, names={}, title="t"),
    "contours": lambda frame: contours_geojson([(1200.0, LANE.line_m)], frame),
}


@pytest.mark.parametrize("name", WRITERS)
def test_contract_each_writer_of_coordinates_refuses_by_itself(name: str) -> None:
    nowhere = SiteFrame(drill_on_square(name="A").site.origin)
    with pytest.raises(BadInput, match=r"^site\.origin: .*latitude_deg"):
        WRITERS[name](nowhere)


def test_contract_a_track_cannot_be_laid_on_a_drill_that_lies_nowhere() -> None:
    place = np.radians([[61.2, 8.1], [61.2001, 8.1001]])
    track = Recorded(
        file="ines.gpx",
        name="",
        unix_s=np.array([0.0, 9.0]),
        place=place,
        segment=np.zeros(2, dtype=np.int64),
    )
    with pytest.raises(BadInput, match=r"ines\.gpx: .*no map position yet; give its site\.origin"):
        screen(track, drill_on_square(name="A").site)


def test_contract_a_neighbour_is_not_laid_beside_a_drill_that_lies_nowhere(tmp_path: Path) -> None:
    nowhere = lying_at(tmp_path / "nowhere.json", 0, 0)
    for pair in ((nowhere, DEMO), (DEMO, nowhere)):
        result = run("signal", str(pair[0]), "--neighbour", str(pair[1]))
        assert refusal(result).startswith(f"{nowhere}: site.origin: ")
