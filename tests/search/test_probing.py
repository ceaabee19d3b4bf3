import json

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from coldfield.cli.main import group
from coldfield.errors import OutOfModel
from coldfield.search.probing import PATTERNS, Pattern, effort, strike_probability
from published import published


@settings(max_examples=15, deadline=None)
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
    chance = strike_probability(
        pattern, burial_depth_m=1.0, deviation_rad=0.0, body_length_m=length_m, body_width_m=width
    )
    assert chance == pytest.approx(area / (across_m * along_m), abs=0.005)


@pytest.mark.parametrize("slalom", [False, True])
@pytest.mark.parametrize("deviation_deg", [0.0, 4.0])
def test_independent_route_strikes_by_throwing_bodies_on_a_pattern(
    slalom: bool, deviation_deg: float
) -> None:
    # 6,000 bodies drawn with shapely over a wide pattern, every hole with its own deviation: the chance
    # within 4 standard errors and the 0.005 of the mesh.
    pattern = Pattern(name="x", across_m=1.1, along_m=0.9, slalom=slalom, depth_m=2.0)
    rng, n, depth = np.random.default_rng(8), 6000, 1.5
    i, j = np.meshgrid(np.arange(-4, 5), np.arange(-4, 5))
    holes = np.stack([1.1 * (i + 0.5 * slalom * (j % 2)), 0.9 * j], axis=-1).reshape(-1, 2)
    middle = rng.uniform(0, 1, (n, 2)) * [1.1, 1.8]
    angle = rng.uniform(0, np.pi, n)
    half = 0.5 * (1.7 - 0.45) * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    body = shapely.buffer(
        shapely.linestrings(np.stack([middle - half, middle + half], axis=1)), 0.225, quad_segs=16
    )
    off = depth * np.tan(np.radians(deviation_deg)) * rng.standard_normal((n, len(holes), 2))
    struck = shapely.contains_xy(body[:, None], *np.moveaxis(holes + off, -1, 0)).any(axis=1)
    chance = strike_probability(pattern, burial_depth_m=depth, deviation_rad=np.radians(deviation_deg))
    p = struck.mean()
    assert chance == pytest.approx(p, abs=4 * np.sqrt(p * (1 - p) / n) + 0.005)


def test_published_chances_stand_beside_the_model_which_is_the_best_case() -> None:
    # The model's flat body is the best case, so it may not fall below a published chance from trials by
    # more than its own error, and the published one stands beside it unchanged.
    table = published("probing_lines")
    for pattern, said in PATTERNS:
        key = pattern.name.replace(" ", "_")
        assert said.probability == table[key]["probability"]
        assert [pattern.across_m, pattern.along_m] == table[key]["spacing_m"]
        model = strike_probability(pattern, burial_depth_m=1.4)
        assert model >= said.probability - 0.01
        assert strike_probability(pattern, burial_depth_m=1.6) == 0.0


def test_published_time_of_twenty_people_on_a_hectare() -> None:
    # The coarse time sets the time of a hole; the fine one is computed from it and must fall into the
    # published 16 to 20 h give or take: holes are smaller steps apart, so it may take less than
    # proportionally more. From memory, both.
    table = published("probing_lines")["twenty_people_one_hectare"]
    coarse = effort(PATTERNS[0][0], area_m2=1e4, people=20).seconds / 3600
    fine = effort(Pattern(name="fine", across_m=0.3, along_m=0.3), area_m2=1e4, people=20).seconds / 3600
    assert coarse == pytest.approx(table["coarse_h"], rel=0.05)
    assert table["fine_h"][0] <= fine <= 1.25 * table["fine_h"][1]
    three = effort(PATTERNS[1][0], area_m2=1e4, people=20).seconds / 3600
    assert three == pytest.approx(0.7 * coarse, rel=0.02)  # 30 % faster, as published


@settings(max_examples=8, deadline=None)
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
        {"burial_depth_m": 1.0, "body_width_m": 2.0},
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
    assert "ISSW 1996" in words


@pytest.mark.parametrize("spacing", ["0,1", "nan,1", "1,20"])
def test_contract_holes_that_are_no_pattern_are_refused(spacing: str) -> None:
    result = CliRunner().invoke(group, ["probing", "--spacing-m", spacing])
    assert "holes must be from 5 cm" in str(result.exception)
