from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from coldfield.app.answers import said
from coldfield.app.debriefs.from_files import RunFiles, debrief
from coldfield.debrief.snow import GridSnow, SurfaceAt, speed_on_snow_m_s
from coldfield.drill.grid import Grid
from coldfield.drill.terrain import Plane
from made_walks import drill, lane_then_flux_line, recorded_by, splits_of
from recorded_tracks import BOWL

SLOPE = Plane(slope_rad=0.3, aspect_rad=2.0)
EAST, NORTH = np.arange(-30.0, 100.0, 10.0), np.arange(-40.0, 130.0, 10.0)


def grid_of(height_m: np.ndarray) -> GridSnow:
    corners = np.stack(np.meshgrid(EAST, NORTH), axis=-1)[1:-1, 1:-1].reshape(-1, 2)
    return GridSnow(grid=Grid.over(EAST, NORTH, 1180.0 + height_m).fitted(corners))


def plane_heights() -> np.ndarray:
    return SLOPE.height_m(np.stack(np.meshgrid(EAST, NORTH), axis=-1))


def test_independent_route_a_grid_of_a_plane_is_that_plane_inside_and_beyond_it() -> None:
    snow = grid_of(plane_heights())
    rng = np.random.default_rng(1)
    places, velocity = rng.uniform(-15, 80, (50, 2)), rng.normal(0, 1, (50, 2))
    np.testing.assert_allclose(snow.at(places, 0.7), SLOPE.at(places, 0.7), atol=1e-9)
    far = np.array([[500.0, 40.0], [-300.0, -200.0]])
    np.testing.assert_allclose(snow.height_m(far), SLOPE.height_m(far), atol=1e-6)
    assert snow.length_m(places) == pytest.approx(SLOPE.length_m(places), rel=1e-9)
    np.testing.assert_allclose(
        speed_on_snow_m_s(snow, places, velocity), speed_on_snow_m_s(SLOPE, places, velocity), rtol=1e-9
    )
    for x, y in places[:5]:
        (z, up), (flat_z, flat_up) = SurfaceAt(snow)(x, y), SurfaceAt(SLOPE)(x, y)
        assert z == pytest.approx(flat_z, abs=1e-9)
        assert up == pytest.approx(flat_up, abs=1e-9)


def test_independent_route_a_debrief_on_a_grid_of_the_plane_is_the_debrief_on_the_plane() -> None:
    site = replace(BOWL, slope_rad=SLOPE.slope_rad, aspect_rad=SLOPE.aspect_rad)
    planned = drill(site=site)
    truth = lane_then_flux_line(planned)
    assert truth is not None
    run = RunFiles(
        drill=planned,
        recorded=(recorded_by(truth.t_s, truth.position_m, seed=3),),
        splits=splits_of(truth),
    )
    flat = said(debrief(run).document)
    made = said(debrief(replace(run, grid=grid_of(plane_heights()).grid)).document)
    assert any("elevation grid" in note for note in made["run"]["notes"])
    for key in ("length_m", "accuracy_m"):
        assert made["searchers"][0]["track"][key] == pytest.approx(
            flat["searchers"][0]["track"][key], rel=1e-6
        )
    for one, other in zip(made["searchers"][0]["phases"], flat["searchers"][0]["phases"], strict=True):
        assert (one["phase"], one["burial"]) == (other["phase"], other["burial"])
        for key in ("start_s", "end_s", "border_uncertainty_s"):
            assert one[key] == pytest.approx(other[key], rel=1e-3, abs=1e-3)
    assert made["swept_fraction"] == pytest.approx(flat["swept_fraction"], abs=1e-3)


def test_contract_lengths_follow_the_bumps_of_the_grid() -> None:
    bumps = 3.0 * np.sin(np.stack(np.meshgrid(EAST, NORTH), axis=-1)[..., 1] / 10.0 * np.pi / 2.0)
    line = np.array([[0.0, 0.0], [0.0, 80.0]])
    # Up and down 3 m in every 10 m: sqrt(1 + 0.09) times the plan length on straight legs.
    assert grid_of(bumps).length_m(line) == pytest.approx(80.0 * np.sqrt(1.09), rel=1e-6)
