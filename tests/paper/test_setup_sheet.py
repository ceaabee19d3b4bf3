"""The setup sheet compared with independent triangulation, and measured as rendered."""

from __future__ import annotations

import itertools
import json
import re
from dataclasses import replace
from io import BytesIO
from math import atan2, cos, degrees, hypot, radians, sin, sqrt, tan
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from hypothesis import assume, given
from hypothesis import strategies as st
from PIL import Image

from amount import examples
from coldfield.app.day.clock import carried_run
from coldfield.app.sheets.setup import setup_sheet
from coldfield.cli.main import group
from coldfield.drill import Drill
from coldfield.drill.site import Anchor, Origin, Site
from coldfield.drill.tape import better_anchor, fix, off_by
from coldfield.errors import BadInput
from coldfield.files.carried_picture import Under
from coldfield.files.drill_json import read_drill
from coldfield.files.run_code import read_run_code, write_run_code
from coldfield.paper.drawing import SCALES
from coldfield.paper.setup_sheet import plan_block
from coldfield.paper.under_plan import PAPER_BYTES, PHONE_BYTES
from coldfield.search.lanes.hiding_way import hiding_way
from coldfield.words import languages, speaking
from paper_pages import A4_MM, LETTER_MM, check_form, drawn, lowest_ink, pages_of, squeezed, words_of

DEMO = Path(__file__).parents[2] / "src/coldfield/app/demo/drill.json"
SHEETS = [
    *itertools.product(("en",), ("a4", "us-letter"), ("small", "large")),
    *itertools.product(sorted(set(languages()) - {"en"}), ("us-letter",), ("small", "large")),
]
"""Language, paper and size of a sheet; text can be too long for the shorter paper."""


@pytest.fixture(scope="module")
def drill() -> Drill:
    return read_drill(DEMO.read_text())


def large(drill: Drill, burials: int = 12, people: int = 20) -> Drill:
    """The drill with many burials and people, and long names."""
    rng = np.random.default_rng(3)
    one, who = drill.burials[0], drill.searchers[0]
    spots = itertools.product(range(18, 90, 20), range(20, 90, 24))
    more = [
        replace(
            one,
            id=f"Sack at the large boulder {k}",
            position_m=(x + rng.uniform(0, 6), y + rng.uniform(0, 6)),
        )
        for k, (x, y) in zip(range(burials), spots, strict=False)
    ]
    crowd = [replace(who, id=f"s{k}", name=f"Adaeze-Maximiliana of the Larches {k}") for k in range(people)]
    name = "Twelve sets on the long fan below the hut, with a long name"
    return replace(drill, name=name, burials=tuple(more), searchers=tuple(crowd))


def meet(ax: float, ay: float, ra: float, bx: float, by: float, rb: float) -> list[tuple[float, float]]:
    """The intersections of two circles by the radical line, a different method from the program's."""
    a, b = 2 * (bx - ax), 2 * (by - ay)
    c = ra**2 - rb**2 - ax**2 - ay**2 + bx**2 + by**2
    # a x + b y = c; insert it into the first circle along the line's direction.
    n2 = a * a + b * b
    x0, y0 = a * c / n2, b * c / n2
    t = (ax - x0) * -b / sqrt(n2) + (ay - y0) * a / sqrt(n2)
    h2 = ra**2 - (hypot(ax - x0, ay - y0) ** 2 - t * t)
    h = sqrt(max(h2, 0.0))
    return [(x0 - b / sqrt(n2) * s, y0 + a / sqrt(n2) * s) for s in (t - h, t + h)]


@pytest.mark.parametrize("slope_deg", [0.0, 9.0, 30.0])
def test_independent_route_printed_tapes_and_bearings_lead_back_to_the_burial(
    drill: Drill, slope_deg: float
) -> None:
    # Only from the text on the sheet: lengths on the snow to 0.1 m, sides, bearings to a degree.
    site = replace(drill.site, slope_rad=radians(slope_deg))
    text = words_of(setup_sheet(replace(drill, site=site)))
    anchors = {a.name: a.position_m for a in site.anchors}
    fall = np.array([sin(site.aspect_rad), cos(site.aspect_rad)])

    def laid(place: tuple[float, float]) -> tuple[float, float]:
        # Convert to the snow: metres along the fall line are longer there.
        down, across = np.dot(place, fall), np.dot(place, [fall[1], -fall[0]])
        return float(across), float(down / cos(site.slope_rad))

    for one in drill.burials:
        found = fix(site, one.position_m)
        assert found is not None
        assert found.first is not None
        assert found.second is not None
        names = [site.anchors[t.anchor].name for t in (found.first, found.second)]
        lengths = [
            float(re.search(rf"(?:^| ){t.snow_m:.1f} m from {name}", text)[0].split()[0])
            for t, name in zip((found.first, found.second), names, strict=True)
        ]  # type: ignore[index]
        circles = [v for name, r in zip(names, lengths, strict=True) for v in (*laid(anchors[name]), r)]
        places = meet(*circles)
        assert min(hypot(x - laid(one.position_m)[0], y - laid(one.position_m)[1]) for x, y in places) < 0.2
        east, north = (
            p - a for p, a in zip(one.position_m, site.anchors[found.near.anchor].position_m, strict=True)
        )
        bearing = round(degrees(atan2(east, north)) % 360)
        assert f"{bearing}° from {site.anchors[found.near.anchor].name}" in text
        assert f"by compass {round((degrees(atan2(east, north)) - 3.5) % 360)}°" in text
        # Which side of the line: the sign of the cross product.
        (ax, ay), (bx, by) = anchors[names[0]], anchors[names[1]]
        left = (bx - ax) * (one.position_m[1] - ay) - (by - ay) * (one.position_m[0] - ax) > 0
        assert f"{'left' if left else 'right'} of the line from {names[0]} to {names[1]}" in text


@given(x=st.floats(-40, 40), y=st.floats(5, 60), apart=st.floats(10, 60), out=st.sampled_from([0.05, 0.1]))
@examples(60)
def test_independent_route_a_tape_that_is_out_moves_the_place_by_what_is_told(
    x: float, y: float, apart: float, out: float
) -> None:
    ra, rb = hypot(x, y), hypot(x - apart, y)
    told = off_by((0.0, 0.0), (apart, 0.0), (x, y), out)
    assume(told < 0.05 * min(ra, rb))
    # Linear in the error; the remainder grows for flat triangles, which are left out.
    assume(told < 0.12 * y)
    moved = []
    for da, db in itertools.product((-out, out), repeat=2):
        places = meet(0.0, 0.0, ra + da, apart, 0.0, rb + db)
        moved.append(min(hypot(px - x, py - y) for px, py in places))
    assert told == pytest.approx(max(moved), rel=0.08)


def test_contract_bad_anchors_are_said_and_a_better_one_is_offered(drill: Drill) -> None:
    flat = tuple(
        Anchor(name=name, position_m=place) for name, place in (("a", (28.0, 30.0)), ("b", (30.0, 40.0)))
    )
    site = replace(drill.site, anchors=flat)
    text = words_of(setup_sheet(replace(drill, site=site)))
    assert "poor" in text
    better = better_anchor(site, [b.position_m for b in drill.burials])
    assert better is not None
    assert f"One more anchor at {better.position_m[0]:.0f} m east, {better.position_m[1]:.0f} m north" in text
    more = replace(site, anchors=(*flat, Anchor(name="c", position_m=better.position_m)))
    worst = max(fix(more, b.position_m).off_m for b in drill.burials)  # type: ignore[union-attr, type-var]
    assert worst == pytest.approx(better.worst_off_m)
    lone = words_of(setup_sheet(replace(drill, site=replace(site, anchors=flat[:1]))))
    assert "needs a second anchor" in lone
    assert "° from a" in lone


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_independent_route_the_scale_holds_on_the_rendered_page(drill: Drill, paper: str) -> None:
    dpi = 300
    pdf = setup_sheet(drill, paper=paper)  # type: ignore[arg-type]
    told = re.search(r"1 : ([\d,]+)", words_of(pdf))
    assert told
    scale = int(told[1].replace(",", ""))
    metres = int(re.search(r" (\d+) m 1 :", words_of(pdf))[1])  # type: ignore[index]
    picture = drawn(pdf, dpi=dpi)
    # The black half of the scale bar is the longest row of dark pixels at least 1.5 mm high.
    dark = picture < 90
    thick = round(1.4 / 25.4 * dpi)
    tall = np.lib.stride_tricks.sliding_window_view(dark, thick, axis=0).all(axis=-1)
    longest = max(longest_run(row) for row in tall)
    assert longest / dpi * 25.4 == pytest.approx(0.5 * metres * 1000 / scale, rel=0.01)


def longest_run(row: np.ndarray) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


@pytest.mark.parametrize("side_m", [30.0, 61.0, 140.0, 600.0])
def test_independent_route_the_ground_itself_measures_to_scale(drill: Drill, side_m: float) -> None:
    square = ((0.0, 0.0), (side_m, 0.0), (side_m, side_m), (0.0, side_m))
    corner = (Anchor(name="a", position_m=(0.0, 0.0)), Anchor(name="b", position_m=(side_m, 0.0)))
    site = Site(origin=drill.site.origin, boundary_m=square, entry_m=(0.5 * side_m, 0.0), anchors=corner)
    burial = replace(drill.burials[0], position_m=(0.4 * side_m, 0.5 * side_m))
    pdf = setup_sheet(replace(drill, site=site, burials=(burial,)))
    scale = int(re.search(r"1 : ([\d,]+)", words_of(pdf))[1].replace(",", ""))  # type: ignore[index]
    assert scale in SCALES
    dpi = 300
    dark = drawn(pdf, dpi=dpi) < 110
    # The upper edge of the ground; lines of tables are in the lower half.
    rows = [longest_run(row) for row in dark[: len(dark) * 2 // 5]]
    assert max(rows) / dpi * 25.4 == pytest.approx(side_m * 1000 / scale + 0.5, rel=0.01, abs=0.4)


def test_contract_everything_the_hider_needs_stands_on_it(drill: Drill) -> None:
    text = words_of(setup_sheet(drill))
    for one in drill.burials:
        assert f"{one.depth_m:.1f} m deep" in text
    for words in (
        "tilted 15°, upper end to the north-east (60°)", "stuffed sack", "paces", "true north", "magnetic (3.5°)",
        "Never bury a person", "All sets counted", "really lay at", "counted in", "Bury in this order",
        "error, with a tape 0.5 m out", "Lane card", "For training and planning",
    ):  # fmt: skip
        assert squeezed(words) in squeezed(text), words
    assert f"{round(fix(drill.site, drill.burials[0].position_m).near.snow_m / 0.75)} paces" in text  # type: ignore[union-attr]


def test_contract_without_a_declination_no_magnetic_north_is_printed(drill: Drill) -> None:
    text = words_of(setup_sheet(replace(drill, site=replace(drill.site, declination_rad=None))))
    assert "magnetic (" not in text
    assert "by compass" not in text
    assert "no declination is entered" in text


@pytest.mark.parametrize(("language", "paper", "size"), SHEETS)
def test_contract_every_sheet_holds_in_form(drill: Drill, paper: str, language: str, size: str) -> None:
    asked = large(drill) if size == "large" else drill
    with speaking(language):
        pdf = setup_sheet(asked, paper=paper)  # type: ignore[arg-type]
    check_form(pdf, A4_MM if paper == "a4" else LETTER_MM, language)
    pages = pages_of(pdf)
    assert len(pages) == (3 if size == "small" else 4)
    for number in range(1, len(pages) + 1):
        assert lowest_ink(pdf, number) > 0.55, f"page {number} is half empty"
    for one in asked.burials:
        # Each is in one row of two tables, never split.
        assert sum(squeezed(one.id) in squeezed(page) for page in pages) >= 2


def test_property_the_way_of_hiding_passes_every_place_and_no_hole(drill: Drill) -> None:
    import shapely

    twelve = large(drill).burials
    way = hiding_way(drill.site, tuple(b.position_m for b in twelve))
    assert sorted(way.order) == list(range(12))
    for one in twelve:
        assert np.min(np.linalg.norm(way.line_m - one.position_m, axis=1)) < 0.01
    holes = shapely.union_all([shapely.Polygon(hole).buffer(-0.05) for hole in drill.site.holes_m])
    assert not shapely.LineString(way.line_m).intersects(holes)
    # Compared with every order of five: at most a tenth longer than the shortest.
    five = tuple(b.position_m for b in twelve[:5])
    best = min(
        hiding_like(drill.site, [five[k] for k in order]) for order in itertools.permutations(range(5))
    )
    assert hiding_way(replace(drill.site, holes_m=()), five).length_m <= 1.1 * best


def hiding_like(site: Site, places: list[tuple[float, float]]) -> float:
    at = np.array([site.entry_m, *places, site.entry_m])
    d = np.diff(at, axis=0)
    rise = tan(site.slope_rad) * (d @ [sin(site.aspect_rad), cos(site.aspect_rad)])
    return float(np.sqrt((d**2).sum(axis=1) + rise**2).sum())


def test_contract_the_printed_codes_hold_the_run(drill: Drill) -> None:
    for one, people in ((drill, len(drill.searchers)), (large(drill), 20)):
        run = carried_run(one, run_id="run-1")
        codes = write_run_code(run)
        assert len(codes) <= 4
        back = read_run_code(codes)
        assert (back.id, len(back.searchers), len(back.burials)) == ("run-1", people, len(one.burials))
        assert back.entry_m == pytest.approx(one.site.entry_m, abs=0.006)


def test_independent_route_the_printed_codes_are_read_from_the_page_by_another_reader(drill: Drill) -> None:
    import cv2

    made = setup_sheet(large(drill), run_id="run-1")
    found: dict[str, str] = {}
    # A camera takes many pictures, too.
    for page, dpi in itertools.product(range(1, len(pages_of(made)) + 1), (200, 300, 250, 150)):
        _, texts, *_ = cv2.QRCodeDetectorAruco().detectAndDecodeMulti(drawn(made, page=page, dpi=dpi))
        found |= {text.split(".")[1]: text for text in texts or () if text}
        if found and len(found) == int(next(iter(found.values())).split(".")[2]):
            break
    run = read_run_code(list(found.values()))
    assert (len(found), len(run.burials)) == (len(write_run_code(run)), 12)
    assert run.entry_m == pytest.approx(drill.site.entry_m, abs=0.006)


def refused(drill: dict, tmp_path: Path, out: str = "f.pdf") -> str:  # type: ignore[type-arg]
    path = tmp_path / "drill.json"
    path.write_text(json.dumps(drill))
    done = CliRunner().invoke(group, ["sheet", str(path), "--out", str(tmp_path / out)])
    assert done.exit_code != 0
    assert not (tmp_path / out).exists()
    return done.stderr


def test_contract_what_no_sheet_can_be_made_of_gets_one_clear_line(tmp_path: Path) -> None:
    whole = json.loads(DEMO.read_text())
    no_anchors = json.loads(DEMO.read_text())
    no_anchors["site"]["anchors"] = []
    nowhere = json.loads(DEMO.read_text())
    nowhere["site"]["origin"] |= {"latitude_deg": 0, "longitude_deg": 0}
    for spoilt, words in ((no_anchors, "site.anchors: there is none"), (nowhere, "site.origin")):
        said = refused(spoilt, tmp_path)
        assert len(said.splitlines()) == 1
        assert words in said
    assert ".pdf (paper) or .html (phone)" in refused(whole, tmp_path, "f.doc")


def test_contract_the_page_for_the_phone_says_the_same(drill: Drill) -> None:
    page = setup_sheet(drill, kind="html").decode()
    assert page.startswith("<!doctype html>")
    assert "<script" not in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    for one in drill.burials:
        assert f"{one.depth_m:.1f} m deep" in page
    assert 'role="img"' in page
    assert "upper end to the north-east" in page


def test_contract_a_drill_on_earth_only(drill: Drill) -> None:
    nowhere = replace(drill.site, origin=Origin(latitude_rad=0.0, longitude_rad=0.0, elevation_m=0.0))
    with pytest.raises(BadInput):
        setup_sheet(replace(drill, site=nowhere))
    assert plan_block(drill, hiding_way(drill.site, (drill.burials[0].position_m,) * 2), paper="a4")["alt"]


def test_independent_route_a_picture_of_the_ground_lies_under_the_plan_to_scale(drill: Drill) -> None:
    """A grey picture of 40 m by 20 m, rotated by a right angle, covers 20 m by 40 m of the plan."""
    square = ((0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0))
    corner = (Anchor(name="a", position_m=(0.0, 0.0)), Anchor(name="b", position_m=(60.0, 0.0)))
    site = Site(origin=drill.site.origin, boundary_m=square, entry_m=(30.0, 0.0), anchors=corner)
    lone = replace(drill, site=site, burials=(replace(drill.burials[0], position_m=(5.0, 5.0)),))
    content = BytesIO()
    Image.new("RGB", (80, 40), (96, 160, 96)).save(content, "PNG")
    # Columns run north and rows east, half a metre each, from (30, 15).
    under = Under(content.getvalue(), (0.0, 0.5, 30.0, 0.5, 0.0, 15.0), shown=1.0)
    with_it, without = setup_sheet(lone, under=under), setup_sheet(lone)
    scale = int(re.search(r"1 : ([\d,]+)", words_of(with_it))[1].replace(",", ""))  # type: ignore[index]
    dpi = 150
    changed = np.abs(drawn(with_it, dpi=dpi).astype(int) - drawn(without, dpi=dpi).astype(int)) > 40
    rows, columns = np.flatnonzero(changed.any(axis=1)), np.flatnonzero(changed.any(axis=0))
    mm = np.array([np.ptp(columns), np.ptp(rows)]) / dpi * 25.4
    np.testing.assert_allclose(mm, np.array([20.0, 40.0]) * 1000 / scale, atol=0.6)
    assert len(with_it) < len(without) + 200_000


def test_contract_the_command_lays_a_picture_under_the_plan_on_paper_and_on_the_phone(tmp_path: Path) -> None:
    noise = np.random.default_rng(3).integers(0, 256, (900, 1200, 3), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "bowl.png")
    laid = ["--picture", str(tmp_path / "bowl.png"), "--known", "0,0=-40,140", "--known", "1200,900=140,5"]

    def sheet(name: str, *more: str) -> Result:
        return CliRunner().invoke(group, ["sheet", str(DEMO), "--out", str(tmp_path / name), *more])

    sizes = {}
    for name in ("with.pdf", "with.html", "bare.pdf", "bare.html"):
        done = sheet(name, *(laid if "with" in name else ()))
        assert done.exit_code == 0, done.output
        sizes[name] = (tmp_path / name).stat().st_size
    assert 50_000 < sizes["with.pdf"] - sizes["bare.pdf"] <= PAPER_BYTES + 2_000
    # As text in a page, a picture is a third larger.
    assert 20_000 < sizes["with.html"] - sizes["bare.html"] <= PHONE_BYTES * 4 / 3 + 200
    assert (tmp_path / "with.html").read_text().count('<image href="data:image/jpeg;base64,') == 1

    wrong = {
        "lies nowhere": laid[:2],
        "'12,4' is not COLUMN,ROW=EAST,NORTH": [*laid[:2], "--known", "12,4"],
        "two to four": laid[:4],
        "name it with --picture": laid[2:],
        "no such file": ["--picture", str(tmp_path / "none.png")],
    }
    for words, options in wrong.items():
        done = sheet("wrong.pdf", *options)
        assert (done.exit_code != 0, len(done.stderr.splitlines())) == (True, 1), done.stderr
        assert words in done.stderr.replace("2 to 4", "two to four")
    assert not (tmp_path / "wrong.pdf").exists()
