from dataclasses import replace
from math import radians
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon

import coldfield.app
from coldfield.app.drills.files import load_drill
from coldfield.beacon.hearing import Sources, carried_point_m, hear, sources_of
from coldfield.beacon.hearing_grid import audible_outline, hearing_grid, reading_contours
from coldfield.beacon.receiver import raw_reading_m
from coldfield.drill import Receiver
from coldfield.drill.terrain import Plane
from coldfield.errors import OutOfModel

DEMO = load_drill(Path(coldfield.app.__file__).parent / "demo/drill.json")
PLANE = Plane.of(DEMO.site)
SOURCES = sources_of(DEMO.burials, PLANE)
LINES = np.linspace(0.0, 100.0, 41)


@pytest.mark.parametrize("turning", [False, True])
@pytest.mark.parametrize("antennas", [1, 2, 3])
def test_independent_route_grid_is_what_single_points_hear(antennas: int, turning: bool) -> None:
    # The compiled loop against the array functions; single precision.
    r = Receiver(
        coaxial_range_m=40.0, antennas=antennas, antenna_factors=(1.0, 1.5, 3.0)[:antennas], turning=turning
    )
    grid = hearing_grid(
        SOURCES, r, PLANE, east_m=LINES, north_m=LINES + 7, heading_rad=0.4, noise_rise_db=3.0
    )
    place = np.stack(np.meshgrid(LINES, LINES + 7), axis=-1)
    point, _ = carried_point_m(SOURCES, r, PLANE, place, heading_rad=0.4, noise_rise_db=3.0)
    heard = hear(SOURCES, r, point, heading_rad=0.4, noise_rise_db=3.0)
    raw, audible, direction = (
        np.moveaxis(a, -1, 0)
        for a in (raw_reading_m(r, heard.magnitude_a_per_m), heard.audible, heard.direction_rad)
    )
    np.testing.assert_allclose(grid.raw_reading_m, raw, rtol=1e-4)
    assert np.isfinite(grid.signal).all()
    assert np.mean((grid.signal >= 1.0) != audible) < 1e-3
    both = ~np.isnan(grid.direction_rad) & ~np.isnan(direction)
    assert both.sum() > 50
    gap = np.abs(np.mod(grid.direction_rad - direction + np.pi / 2, np.pi) - np.pi / 2)
    assert gap[both].max() < 1e-4


def test_contract_contours_lie_where_the_receiver_reads_that() -> None:
    r = Receiver(coaxial_range_m=45.0)
    grid = hearing_grid(SOURCES, r, PLANE, east_m=np.linspace(0, 100, 201), north_m=np.linspace(0, 110, 221))
    lines = reading_contours(grid, 0, [10.0, 20.0])
    for level, found in lines.items():
        assert found
        for line in found:
            point, _ = carried_point_m(SOURCES, r, PLANE, line)
            raw = raw_reading_m(r, hear(SOURCES, r, point).magnitude_a_per_m[:, 0])
            np.testing.assert_allclose(raw, level, atol=0.05)  # curvature of the reading over half a metre


def test_contract_outline_parts_heard_from_not_heard() -> None:
    r = Receiver(coaxial_range_m=30.0)
    grid = hearing_grid(
        SOURCES, r, PLANE, east_m=np.linspace(-20, 110, 131), north_m=np.linspace(0, 130, 131)
    )
    (line,) = audible_outline(grid, 0)
    centre = SOURCES.point_m[0, :2]
    for share, heard in ((0.97, True), (1.03, False)):
        point, _ = carried_point_m(SOURCES, r, PLANE, centre + share * (line - centre))
        assert (hear(SOURCES, r, point).audible[:, 0] == heard).all()


def test_property_mirror_image_of_a_drill_is_heard_in_the_mirror() -> None:
    r = Receiver(coaxial_range_m=40.0)
    flip = np.array([-1.0, 1.0, 1.0])
    mirrored = replace(SOURCES, point_m=SOURCES.point_m * flip, moment_am2=SOURCES.moment_am2 * flip)
    level = Plane()
    here = hearing_grid(SOURCES, r, level, east_m=LINES, north_m=LINES)
    there = hearing_grid(mirrored, r, level, east_m=-LINES, north_m=LINES)
    np.testing.assert_allclose(here.raw_reading_m, there.raw_reading_m, rtol=1e-5)
    area = [Polygon(max(audible_outline(g, 1), key=len)).area for g in (here, replace(there, east_m=LINES))]
    assert area[0] == pytest.approx(area[1], rel=1e-4)


def test_contract_a_drill_without_sets_has_an_empty_map() -> None:
    none = Sources((), np.zeros((0, 3)), np.zeros((0, 3)))
    grid = hearing_grid(
        none, Receiver(coaxial_range_m=45.0), Plane(slope_rad=radians(5)), east_m=LINES, north_m=LINES
    )
    assert grid.raw_reading_m.shape == (0, 41, 41)


@pytest.mark.parametrize("lines", [[], [np.nan, 1.0], np.arange(3000.0)])
def test_contract_grids_that_cannot_be_are_refused(lines) -> None:
    with pytest.raises(OutOfModel):
        hearing_grid(SOURCES, Receiver(coaxial_range_m=45.0), PLANE, east_m=lines, north_m=lines)
