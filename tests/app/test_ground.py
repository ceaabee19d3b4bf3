import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import rasterio
import shapely
from click.testing import CliRunner
from pyproj import Transformer

import coldfield.app
from coldfield.app.drills.files import load_drill
from coldfield.app.ground.grid import load_grid
from coldfield.cli.main import group
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput
from coldfield.search.lanes.plan import plan_lanes

DEMO = Path(coldfield.app.__file__).parent / "demo/drill.json"


def hill(east, north):
    """A rolling ground in the site frame, m."""
    return 1180.0 + 0.12 * north + 4.0 * np.sin(east / 40.0) * np.cos(north / 55.0)


def written(folder: Path, epsg: int, *, cell: float, tiff: bool) -> Path:
    """The rolling ground as another program would export it, with each place from PROJ."""
    drill = load_drill(DEMO)
    o = drill.site.origin
    lat, lon = np.degrees(o.latitude_rad), np.degrees(o.longitude_rad)
    x0, y0 = Transformer.from_crs(4326, epsg, always_xy=True).transform(lon, lat)
    n = 90
    x, y = x0 + (np.arange(n) - n / 2) * cell, y0 + (np.arange(n) - n / 2) * cell
    gx, gy = np.meshgrid(x, y)
    glon, glat = Transformer.from_crs(epsg, 4326, always_xy=True).transform(gx, gy)
    to_site = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=cart +ellps=WGS84 +step "
        f"+proj=topocentric +ellps=WGS84 +lon_0={lon} +lat_0={lat} +h_0={o.elevation_m}"
    )
    east, north, _ = to_site.transform(glon, glat, np.full(gx.shape, o.elevation_m))
    height = hill(east, north)[::-1]
    path = folder / ("ground.tif" if tiff else "ground.asc")
    if tiff:
        place = rasterio.Affine(cell, 0, x[0] - cell / 2, 0, -cell, y[-1] + cell / 2)
        profile = {
            "driver": "GTiff",
            "width": n,
            "height": n,
            "count": 1,
            "dtype": "float64",
            "crs": f"EPSG:{epsg}",
        }
        with rasterio.open(path, "w", transform=place, **profile) as dataset:
            dataset.write(height, 1)
    else:
        head = f"ncols {n}\nnrows {n}\nxllcenter {x[0]!r}\nyllcenter {y[0]!r}\ncellsize {cell!r}\n".replace(
            "np.float64(", ""
        ).replace(")", "")
        path.write_text(head + "\n".join(" ".join(f"{v:.4f}" for v in row) for row in height))
    return path


@pytest.mark.parametrize(
    ("epsg", "cell", "tiff", "crs"),
    [
        (32632, 5.0, False, "EPSG:32632"),
        (32632, 5.0, True, None),
        (25833, 5.0, False, "epsg:25833"),
        (3006, 5.0, False, "EPSG:3006"),
        (4326, 5.0e-5, False, "EPSG:4326"),
        (3857, 10.0, True, None),
    ],
)
def test_independent_route_ground_in_many_systems_comes_to_lie_where_proj_says(
    tmp_path, epsg, cell, tiff, crs
) -> None:
    # Heights are interpolated bilinearly twice; the ground curves by 4 m in 40 m, so two cells of 5 m leave
    # up to 2 * (5 m)^2 / 8 * 4 / 40^2 = 2 cm.
    drill = load_drill(DEMO)
    grid = load_grid(written(tmp_path, epsg, cell=cell, tiff=tiff), drill, crs=crs)
    places = np.array(drill.site.boundary_m)
    expected = hill(*places.T) - hill(0.0, 0.0)
    np.testing.assert_allclose(grid.height_m(places), expected, atol=0.05)


def test_contract_a_prj_beside_the_grid_names_its_system(tmp_path: Path) -> None:
    path = written(tmp_path, 32632, cell=10.0, tiff=False)
    with pytest.raises(BadInput, match="does not name its coordinate system"):
        load_grid(path, load_drill(DEMO))
    path.with_suffix(".prj").write_text(rasterio.crs.CRS.from_epsg(32632).to_wkt())
    assert load_grid(path, load_drill(DEMO)).cell_m == pytest.approx(10.0, rel=0.01)


def test_contract_a_grid_of_another_valley_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, 32632, cell=5.0, tiff=False)
    with pytest.raises(BadInput, match="does not cover the site, which is at"):
        load_grid(path, load_drill(DEMO), crs="EPSG:32632".replace("32632", "32635"))
    with pytest.raises(BadInput, match="does not cover the site"):
        load_grid(path, load_drill(DEMO), crs="site")


def site_grid(folder: Path, height, cell=20.0, half=1500.0) -> Path:
    net = np.arange(-half, half + 0.1, cell)
    east, north = np.meshgrid(net, net)
    head = f"ncols {len(net)}\nnrows {len(net)}\nxllcenter {-half}\nyllcenter {-half}\ncellsize {cell}\n"
    rows = height(east, north)[::-1]
    path = folder / "site.asc"
    path.write_text(head + "\n".join(" ".join(f"{v:.3f}" for v in row) for row in rows))
    return path


@pytest.mark.parametrize(
    ("height", "verdict"),
    [
        (lambda e, n: 1000 + 0 * e, "nothing found"),
        (lambda e, n: 1000 + np.clip(200 - 0.7 * np.hypot(e - 50, n - 400), 0, None), "warning"),
        (lambda e, n: 1000 + 0.2 * n, "cannot tell"),
    ],
)
def test_contract_the_command_says_one_of_three_verdicts_and_never_clears(tmp_path, height, verdict) -> None:
    path = site_grid(tmp_path, height)
    args = ["ground", str(DEMO), "--elevation", str(path), "--crs", "site"]
    told = json.loads(CliRunner().invoke(group, [*args, "--json"]).stdout)
    assert told["verdict"] == verdict
    assert bool(told["reasons"]) == (verdict != "nothing found")
    assert told["slope_max_deg"] >= 0.0
    assert "never a clearance" in told["notes"][0]
    words = CliRunner().invoke(group, args).stdout
    assert words.startswith(f"{verdict}: slope of the site")
    assert "never a clearance" in words


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_contract_the_map_is_drawn(tmp_path: Path, ending: str) -> None:
    path = site_grid(tmp_path, lambda e, n: 1000 + np.clip(200 - 0.7 * np.hypot(e - 50, n - 400), 0, None))
    out = tmp_path / f"ground.{ending}"
    result = CliRunner().invoke(
        group, ["ground", str(DEMO), "--elevation", str(path), "--crs", "site", "--map", str(out)]
    )
    assert result.exit_code == 0, result.output
    assert out.read_bytes()[:5] in (b"<?xml", b"\x89PNG\r")
    bad = CliRunner().invoke(
        group, ["ground", str(DEMO), "--elevation", str(path), "--crs", "site", "--map", "x.gif"]
    )
    assert "must end in .svg or .png" in str(bad.exception)


def test_independent_route_contours_lie_where_proj_puts_them(tmp_path: Path) -> None:
    # On a slope that rises 1 m in 5 m to the north, the contour of 1010 m runs 50 m north of the origin.
    path, out = site_grid(tmp_path, lambda e, n: 1000 + 0.2 * n), tmp_path / "contours.geojson"
    args = ["ground", str(DEMO), "--elevation", str(path), "--crs", "site", "--contours", str(out)]
    assert CliRunner().invoke(group, args).exit_code == 0
    lines = {f["properties"]["elevation_m"]: f["geometry"] for f in json.loads(out.read_text())["features"]}
    lon, lat = np.array(lines[1010.0]["coordinates"]).T
    o = load_drill(DEMO).site.origin
    to_site = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=cart +ellps=WGS84 +step "
        f"+proj=topocentric +ellps=WGS84 +lon_0={np.degrees(o.longitude_rad)} "
        f"+lat_0={np.degrees(o.latitude_rad)} +h_0={o.elevation_m}"
    )
    _, north, _ = to_site.transform(lon, lat, np.full(len(lon), o.elevation_m))
    near = np.abs(lon - np.degrees(o.longitude_rad)) < 0.005
    np.testing.assert_allclose(north[near], 50.0, atol=0.02)


def test_independent_route_lanes_on_a_grid_of_a_plane_are_those_of_the_plane(tmp_path: Path) -> None:
    drill = load_drill(DEMO)
    plane = Plane.of(drill.site)
    path = site_grid(tmp_path, lambda e, n: 1200 + plane.height_m(np.stack([e, n], axis=-1)))
    grid = load_grid(path, drill, crs="site")
    flat, bent = (
        plan_lanes(drill.site, drill.searchers, strip_width_m=20.0, terrain=t) for t in (plane, grid)
    )
    # Heights are written to the millimetre.
    assert bent.covered_fraction == flat.covered_fraction == 1.0
    assert bent.seconds == pytest.approx(flat.seconds, rel=1e-3)
    assert bent.seconds_lower_bound <= bent.seconds


def test_independent_route_lanes_on_bent_snow_are_near_enough_everywhere(tmp_path: Path) -> None:
    # Distances in space from places of the site to the lanes, straight through the air, found by brute
    # force: never longer than on the snow, so they must all be below half a width; and the length
    # of each lane is that of a fine line in space.
    drill = load_drill(DEMO)

    def bumps(e, n):
        return hill(e, n) + 5.0 * np.sin(e / 12.0) * np.sin(n / 14.0)

    path = site_grid(tmp_path, bumps, cell=4.0, half=200.0)
    grid = load_grid(path, drill, crs="site")
    plan = plan_lanes(drill.site, drill.searchers, strip_width_m=13.0, terrain=grid)
    assert plan.covered_fraction == 1.0
    assert any(note.code == "note.ground_bends" for note in plan.notes)
    far = furthest_through_the_air_m(drill, grid, plan)
    assert far <= 6.5 * 1.005  # places between those the planner looks at: half a percent
    even = plan_lanes(drill.site, drill.searchers, strip_width_m=13.0, terrain=grid.mean)
    assert furthest_through_the_air_m(drill, grid, even) > 6.5 * 1.02  # an even slope would not have done
    for lane in plan.lanes:
        assert lane.length_m == pytest.approx(space_length_m(grid, lane.line_m), rel=2e-3)
    assert plan.seconds_lower_bound <= plan.seconds


def fine(line):
    return np.concatenate([np.linspace(a, b, 60) for a, b in pairwise(line)])


def space_length_m(grid, line) -> float:
    return np.linalg.norm(np.diff(grid.at(fine(line)), axis=0), axis=1).sum()


def furthest_through_the_air_m(drill, grid, plan) -> float:
    space = np.concatenate([grid.at(fine(lane.line_m)) for lane in plan.lanes])
    area = shapely.Polygon(drill.site.boundary_m, drill.site.holes_m)
    places = np.random.default_rng(5).uniform(*np.array(area.bounds).reshape(2, 2), size=(1500, 2))
    places = grid.at(places[shapely.contains_xy(area, places)])
    return max(np.linalg.norm(space - p, axis=1).min() for p in places)
