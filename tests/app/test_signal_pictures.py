from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.image import imread

import coldfield.app
from coldfield.app.drills.files import load_drill
from coldfield.app.hearing.pictures import (
    neighbours_heard,
    weakest_searcher,
    write_fine_search_chart,
    write_hearing_map,
    write_strip_width_chart,
)
from coldfield.app.strips.width import Question, strip_widths
from coldfield.drill.frame import SiteFrame
from coldfield.errors import BadInput

DEMO = load_drill(Path(coldfield.app.__file__).parent / "demo/drill.json")


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_contract_hearing_map_is_written_as_svg_and_png(tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"map.{kind}"
    assert write_hearing_map(DEMO, str(path), with_lanes=kind == "svg") == []
    if kind == "svg":
        assert ElementTree.parse(path).getroot().tag.endswith("svg")
    else:
        assert np.std(imread(path)[..., :3]) > 0.05


def test_contract_charts_are_written(tmp_path: Path) -> None:
    write_strip_width_chart(strip_widths(Question()), str(tmp_path / "width.svg"))
    write_fine_search_chart(1.2, 0.4, str(tmp_path / "fine.svg"))
    for name in ("width.svg", "fine.svg"):
        assert ElementTree.parse(tmp_path / name).getroot().tag.endswith("svg")


def test_contract_another_kind_of_picture_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"\.svg or \.png"):
        write_hearing_map(DEMO, str(tmp_path / "map.jpg"))
    assert list(tmp_path.iterdir()) == []


def test_contract_the_map_shows_the_weakest_receiver() -> None:
    assert weakest_searcher(DEMO).id == "tomas"


def test_contract_sets_of_a_neighbouring_drill_are_told_where_they_are_heard() -> None:
    def moved(east_m: float) -> object:
        latitude, longitude = SiteFrame(DEMO.site.origin).to_wgs84([east_m, 0.0])
        origin = replace(DEMO.site.origin, latitude_rad=float(latitude), longitude_rad=float(longitude))
        return replace(DEMO, site=replace(DEMO.site, origin=origin))

    assert neighbours_heard(DEMO, moved(400.0)) == []
    near = neighbours_heard(DEMO, moved(90.0))
    # Burial A of the other drill lies 31 + 90 m east: 17 m from the corner of this ground.
    assert [name for name, _ in near][:1] == ["A"]
    assert near[0][1][0] == pytest.approx(121.0, abs=0.3)
