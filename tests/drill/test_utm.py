import numpy as np
import pytest
from pyproj import Transformer

from coldfield.drill.utm import utm


@pytest.mark.parametrize(
    ("zone", "south", "epsg"), [(33, False, 32633), (5, True, 32705), (32, False, 25832)]
)
def test_independent_route_utm_by_proj(zone: int, south: bool, epsg: int) -> None:
    # PROJ's Poder/Engsager series; both are good to below 1 mm within the zone and its neighbours.
    rng = np.random.default_rng(7)
    lat = rng.uniform(-79 if south else 0, 0 if south else 83, 400)
    lon = 6 * zone - 183 + rng.uniform(-6, 6, 400)
    expected = Transformer.from_crs(4326, epsg, always_xy=True).transform(lon, lat)
    np.testing.assert_allclose(
        utm(np.radians(lat), np.radians(lon), zone=zone, south=south), expected, atol=2e-3
    )
