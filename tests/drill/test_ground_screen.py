import re
from math import atan2, radians, tan

import numpy as np
import pytest

from coldfield.drill.grid import Grid
from coldfield.drill.ground_screen import REACH_RAD, STEEP_RAD, screened
from coldfield.drill.site import Origin, Site
from coldfield.errors import OutOfModel
from coldfield.words import say
from published import published

SITE = Site(
    origin=Origin(latitude_rad=1.0, longitude_rad=0.1, elevation_m=1200.0),
    boundary_m=((-30.0, -30.0), (30.0, -30.0), (30.0, 30.0), (-30.0, 30.0)),
    entry_m=(0.0, -30.0),
)


def grid(height, half_m=1200.0, cell_m=10.0) -> Grid:
    net = np.arange(-half_m, half_m + cell_m / 2, cell_m)
    east, north = np.meshgrid(net, net)
    return Grid.over(net, net, 1000.0 + height(east, north))


def cone(east, north, *, top_m: float, rise_m: float, slope_deg: float = 35.0):
    """Level ground, and a cone of even slope with its top at a distance to the north."""
    return np.clip(rise_m - np.hypot(east, north - top_m) * tan(radians(slope_deg)), 0.0, None)


def test_contract_level_ground_with_nothing_above() -> None:
    screen = screened(SITE, grid(lambda e, n: 0.0 * e))
    assert screen.verdict == "nothing found"
    assert screen.reasons == ()


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
@pytest.mark.parametrize(("factor", "verdict"), [(0.97, "warning"), (1.03, "nothing found")])
def test_published_reach_angle_decides(turns: int, factor: float, verdict: str) -> None:
    # 18 degrees: the lowest published angle up to the top of a start zone. A cone's top, 100 m high, is
    # put just inside and just outside that angle from the near side of the site, 30 m from the
    # origin: by hand tan(18 deg) = 100 m / distance. The top lies on a corner of the net.
    angle = published("ground_screen")["reach_angle"]
    distance = factor * 100.0 / tan(radians(angle))
    top_m = 30.0 + round(distance)

    def height(e, n):
        e, n = [(e, n), (n, -e), (-e, -n), (-n, e)][turns]
        return cone(e, n, top_m=top_m, rise_m=100.0)

    screen = screened(SITE, grid(height, 1200.0, 10.0 if top_m % 10 == 0 else 4.0))
    assert screen.verdict == verdict, screen.reasons
    if verdict == "warning":
        warning = say(screen.reasons[0])
        assert ("north", "west", "south", "east")[turns] in warning
        assert atan2(100.0, distance) >= REACH_RAD
        told = int(warning.split(" degrees")[0].split()[-1])
        assert told == pytest.approx(np.degrees(atan2(100.0, distance)), abs=1.0)  # whole degrees
        rise, away = (int(one) for one in re.findall(r"(-?\d+) m (?:higher|away)", warning))
        assert np.degrees(atan2(rise, away)) == pytest.approx(told, abs=1.0)


@pytest.mark.parametrize(
    ("slope_deg", "verdict"), [(20, "nothing found"), (25, "nothing found"), (29, "warning")]
)
def test_published_ground_below_start_zone_slopes_does_not_warn(slope_deg: float, verdict: str) -> None:
    # 96 % of slabs start on 30 to 50 degrees; a grid smooths, so 27 to 28 degrees already count.
    screen = screened(SITE, grid(lambda e, n: cone(e, n, top_m=150.0, rise_m=60.0, slope_deg=slope_deg)))
    assert screen.verdict == verdict, screen.reasons
    assert np.degrees(STEEP_RAD) < published("ground_screen")["start_zone_slopes"][0]


@pytest.mark.parametrize(
    ("height", "half_m", "cell_m", "words"),
    [
        (lambda e, n: 0.1 * n, 1200.0, 10.0, "ends before a ridge to the"),
        (lambda e, n: 0.0 * n, 300.0, 10.0, "ends before a ridge to the"),
        (lambda e, n: 0.0 * n, 2000.0, 40.0, "too coarse"),
        (
            lambda e, n: np.clip(n - 1000.0, 0, None) * tan(radians(35)),
            1200.0,
            10.0,
            "reaches the edge of the grid",
        ),
        (lambda e, n: np.where(np.hypot(e - 400, n) < 60, np.nan, 0.0), 1200.0, 10.0, "in a gap"),
    ],
)
def test_contract_cannot_tell_with_its_reason(height, half_m, cell_m, words) -> None:
    screen = screened(SITE, grid(height, half_m, cell_m))
    assert screen.verdict == "cannot tell"
    assert any(words in say(reason) for reason in screen.reasons), screen.reasons


def test_contract_a_warning_outweighs_doubts_and_keeps_them() -> None:
    screen = screened(SITE, grid(lambda e, n: np.clip(n - 60.0, 0, None) * tan(radians(35)), 300.0))
    assert screen.verdict == "warning"
    assert any("above the site" in say(r) for r in screen.reasons)
    assert any("ends before a ridge" in say(r) for r in screen.reasons)
    assert (screen.steep_m[:, 1] > 50.0).all()


def test_contract_a_steep_site_warns_and_steep_ground_below_does_not() -> None:
    assert screened(SITE, grid(lambda e, n: -n * tan(radians(33)))).verdict == "warning"
    below = screened(SITE, grid(lambda e, n: -np.clip(n - 100.0, 0.0, 100.0) * tan(radians(35))))
    assert below.verdict == "nothing found", below.reasons


def test_contract_a_grid_elsewhere_is_refused() -> None:
    far = Grid.over(np.arange(5e3, 6e3, 10), np.arange(5e3, 6e3, 10), np.zeros((100, 100)))
    with pytest.raises(OutOfModel, match="does not cover"):
        screened(SITE, far)
