import json

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.cli.main import group
from coldfield.errors import OutOfModel
from coldfield.search.pinpointing.probe_lines import (
    BODY_THICKNESS_M,
    FLAT_LENGTH_M,
    PATTERNS,
    Pattern,
    area_over_cell,
    effort,
    outline_probability,
    probability_over_depths,
    strike_probability,
)
from coldfield.words import say
from published import from_memory, published


@examples(15)
@given(
    across_m=st.floats(0.9, 2.0),
    along_m=st.floats(0.9, 2.0),
    length_m=st.floats(0.3, 0.85),
    width_share=st.floats(0.3, 1.0),
)
def test_independent_route_small_bodies_are_struck_as_often_as_their_area_fits(
    across_m, along_m, length_m, width_share
) -> None:
    # A body shorter than both spacings meets at most one hole: the chance is area over cell, whatever
    # its direction. Area of a stadium by hand. 2 cm mesh: 0.005.
    width = width_share * length_m
    area = width * (length_m - width) + np.pi * width**2 / 4
    pattern = Pattern(name="x", across_m=across_m, along_m=along_m)
    chance = outline_probability(pattern, (length_m, width), 1.0, deviation_rad=0.0)
    assert chance == pytest.approx(area / (across_m * along_m), abs=0.005)


@pytest.mark.parametrize("staggered", [False, True])
@pytest.mark.parametrize("deviation_deg", [0.0, 4.0])
def test_independent_route_strikes_by_throwing_bodies_on_a_pattern(
    staggered: bool, deviation_deg: float
) -> None:
    # 6,000 bodies drawn with shapely over a wide pattern, every hole with its own deviation: the chance
    # within 4 standard errors and the 0.005 of the mesh.
    pattern = Pattern(name="x", across_m=1.1, along_m=0.9, staggered=staggered, depth_m=2.0)
    rng, n, depth = np.random.default_rng(8), 6000, 1.5
    i, j = np.meshgrid(np.arange(-4, 5), np.arange(-4, 5))
    holes = np.stack([1.1 * (i + 0.5 * staggered * (j % 2)), 0.9 * j], axis=-1).reshape(-1, 2)
    middle = rng.uniform(0, 1, (n, 2)) * [1.1, 1.8]
    angle = rng.uniform(0, np.pi, n)
    half = 0.5 * (1.7 - 0.45) * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    body = shapely.buffer(
        shapely.linestrings(np.stack([middle - half, middle + half], axis=1)), 0.225, quad_segs=16
    )
    off = depth * np.tan(np.radians(deviation_deg)) * rng.standard_normal((n, len(holes), 2))
    struck = shapely.contains_xy(body[:, None], *np.moveaxis(holes + off, -1, 0)).any(axis=1)
    chance = outline_probability(pattern, (1.7, 0.45), depth, deviation_rad=np.radians(deviation_deg))
    p = struck.mean()
    assert chance == pytest.approx(p, abs=4 * np.sqrt(p * (1 - p) / n) + 0.005)


def test_independent_route_any_posture_by_throwing_rods_in_space() -> None:
    # 8,000 rods with directions drawn on the sphere (not by tilts), their outlines seen from above by
    # shapely: within 4 standard errors and 0.005.
    rng, n = np.random.default_rng(5), 8000
    axis = rng.standard_normal((n, 3))
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    half = 0.5 * (FLAT_LENGTH_M - BODY_THICKNESS_M) * axis[:, :2]
    middle = rng.uniform(0, 1, (n, 2)) * [0.6, 0.7]
    body = shapely.buffer(
        shapely.linestrings(np.stack([middle - half, middle + half + 1e-9], axis=1)),
        BODY_THICKNESS_M / 2,
        quad_segs=16,
    )
    holes = np.stack(np.meshgrid(0.6 * np.arange(-4, 5), 0.7 * np.arange(-4, 5)), axis=-1).reshape(-1, 2)
    struck = shapely.contains_xy(body[:, None], holes[None, :, 0], holes[None, :, 1]).any(axis=1)
    p = struck.mean()
    chance = strike_probability(
        Pattern(name="x", across_m=0.6, along_m=0.7), burial_depth_m=1.0, deviation_rad=0.0
    )
    assert chance == pytest.approx(p, abs=4 * np.sqrt(p * (1 - p) / n) + 0.005)


def _key(pattern: Pattern) -> str:
    return say(pattern.name, "en").replace(" ", "_")


def test_from_memory_surface_of_a_clothed_person_gives_the_published_chances_of_1996() -> None:
    # The body's size is not fitted: surface of a person in winter clothes (DuBois, Fanger, ISO 7730), a
    # quarter of it seen from above (Cauchy). Over the cell of the pattern that must be what ISSW 1996
    # prints for 'a victim of average size and orientation', to the printed per cent ('approximately 95').
    table, body = published("probing_lines"), from_memory("probing_lines")["clothed_surface"]
    mean_outline_m2 = 0.25 * body["skin_m2"] * body["outward_share"] * body["clothing_factor"]
    assert mean_outline_m2 == pytest.approx(0.25 * np.pi * BODY_THICKNESS_M * FLAT_LENGTH_M, rel=0.005)
    for pattern, said in PATTERNS[:2]:
        across, along = table[_key(pattern)]["spacing_m"]
        assert mean_outline_m2 / (across * along) == pytest.approx(said.probability, abs=0.01)
        assert area_over_cell(pattern) == pytest.approx(said.probability, abs=0.01)


def test_published_chance_of_slalom_is_met_by_the_same_body_in_any_posture() -> None:
    # 88 % of ICAR 2015, for a plain grid of 50 cm: within 0.03, the error of a body drawn as a rod.
    said = published("probing_lines")["slalom"]["probability"]
    assert strike_probability(PATTERNS[2][0], burial_depth_m=1.0) == pytest.approx(said, abs=0.03)


def test_published_chances_stand_beside_the_model_and_bound_it() -> None:
    table = published("probing_lines")
    for pattern, said in PATTERNS:
        key = _key(pattern)
        assert said.probability == table[key]["probability"]
        assert [pattern.across_m, pattern.along_m] == table[key]["spacing_m"]
        model = strike_probability(pattern, burial_depth_m=1.4)
        flat = strike_probability(pattern, burial_depth_m=1.4, posture="flat")
        # Two holes in one body only lower the chance; lying flat shows the most of a body.
        assert model < area_over_cell(pattern)
        assert model <= said.probability + 0.03
        assert flat >= said.probability - 0.01
        assert strike_probability(pattern, burial_depth_m=1.6) == 0.0
        # One burial in ten lies deeper than 1.5 m (lognormal, median 0.8 m, spread 0.5).
        assert probability_over_depths(pattern) == pytest.approx(0.896 * model, abs=0.01)


def test_from_memory_time_of_twenty_people_on_a_hectare() -> None:
    # The coarse time sets the time of a hole; the fine one is computed from it and must fall into the
    # published 16 to 20 h give or take: holes are smaller steps apart, so it may take less than
    # proportionally more. From memory, both.
    table = from_memory("probing_lines")["twenty_people_one_hectare"]
    coarse = effort(PATTERNS[0][0], area_m2=1e4, people=20).seconds / 3600
    fine = effort(Pattern(name="fine", across_m=0.3, along_m=0.3), area_m2=1e4, people=20).seconds / 3600
    assert coarse == pytest.approx(table["coarse_h"], rel=0.05)
    assert table["fine_h"][0] <= fine <= 1.25 * table["fine_h"][1]
    three = effort(PATTERNS[1][0], area_m2=1e4, people=20).seconds / 3600
    assert three == pytest.approx(0.7 * coarse, rel=0.02)  # 30 % faster, as published


@examples(8)
@given(scale=st.floats(0.7, 0.95), depth=st.floats(0.3, 1.5))
def test_property_closer_holes_strike_more_and_fewer_felt_strikes_find_less(scale, depth) -> None:
    wide = Pattern(name="wide", across_m=1.2, along_m=1.2)
    close = Pattern(name="close", across_m=1.2 * scale, along_m=1.2)
    chance = strike_probability(wide, burial_depth_m=depth)
    assert strike_probability(close, burial_depth_m=depth) > chance
    assert strike_probability(wide, burial_depth_m=depth, felt_fraction=0.8) < chance


@pytest.mark.parametrize(
    "wrong",
    [
        {"burial_depth_m": 0.0},
        {"burial_depth_m": 1.0, "deviation_rad": 1.0},
        {"burial_depth_m": 1.0, "felt_fraction": 1.5},
        {"burial_depth_m": float("nan")},
    ],
)
def test_contract_figures_outside_the_model_are_refused(wrong) -> None:
    with pytest.raises(OutOfModel):
        strike_probability(PATTERNS[0][0], **wrong)


def test_contract_the_command_shows_model_and_publication() -> None:
    told = json.loads(CliRunner().invoke(group, ["probing", "--json"]).stdout)
    assert [row["published_probability"] for row in told["patterns"]] == [0.76, 0.95, 0.88]
    own = CliRunner().invoke(group, ["probing", "--spacing-m", "0.6,0.6", "--people", "10", "--json"])
    (row,) = json.loads(own.stdout)["patterns"]
    assert row["published_probability"] is None
    assert row["seconds"] > 0
    words = CliRunner().invoke(group, ["probing"]).stdout
    assert "76 %" in words
    assert "use the lower" in words
    assert "ISSW 1996" in words


@pytest.mark.parametrize("spacing", ["0,1", "nan,1", "1,20"])
def test_contract_holes_that_are_no_pattern_are_refused(spacing: str) -> None:
    result = CliRunner().invoke(group, ["probing", "--spacing-m", spacing])
    assert "holes must be from 5 cm" in str(result.exception)
