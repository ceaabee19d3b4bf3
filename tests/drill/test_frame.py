from math import radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Transformer

from amount import examples
from coldfield.drill.frame import SiteFrame
from coldfield.drill.site import Origin
from coldfield.errors import OutOfModel

PLACES = [
    (61.2, 8.1, 1180.0),
    (46.5, 9.8, 2400.0),
    (-43.6, 170.1, 900.0),
    (0.0, 179.9999, 0.0),
    (78.2, -15.6, 300.0),
]


def _ring_of_points(radius_m: float) -> np.ndarray:
    angle = np.linspace(0, 2 * np.pi, 17)
    return radius_m * np.stack([np.sin(angle), np.cos(angle)], axis=-1)


@pytest.mark.parametrize(("lat", "lon", "elevation"), PLACES)
def test_independent_route_proj_topocentric_agrees_within_1_cm_over_500_m(
    lat: float, lon: float, elevation: float
) -> None:
    # PROJ's topocentric conversion (IOGP Guidance Note 7-2, method 9837), through geocentric coordinates.
    frame = SiteFrame(Origin(latitude_rad=radians(lat), longitude_rad=radians(lon), elevation_m=elevation))
    xy = _ring_of_points(500.0)
    proj = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=cart +ellps=WGS84 "
        f"+step +proj=topocentric +ellps=WGS84 +lon_0={lon} +lat_0={lat} +h_0={elevation}"
    )
    latitude, longitude = frame.to_wgs84(xy)
    east, north, _ = proj.transform(np.degrees(longitude), np.degrees(latitude), np.full(len(xy), elevation))
    np.testing.assert_allclose(np.stack([east, north], axis=-1), xy, atol=0.01)

    lon_back, lat_back, _ = proj.transform(xy[:, 0], xy[:, 1], np.zeros(len(xy)), direction="INVERSE")
    np.testing.assert_allclose(frame.from_wgs84(np.radians(lat_back), np.radians(lon_back)), xy, atol=0.01)


@given(x=st.floats(-2000, 2000), y=st.floats(-2000, 2000), lat=st.floats(-85, 85), lon=st.floats(-180, 180))
@examples(50)
def test_property_there_and_back_is_the_same_place(x: float, y: float, lat: float, lon: float) -> None:
    frame = SiteFrame(Origin(latitude_rad=radians(lat), longitude_rad=radians(lon), elevation_m=1200.0))
    # 2 km away the plane is 0.3 m above the ellipsoid: 0.1 mm in plan.
    np.testing.assert_allclose(frame.from_wgs84(*frame.to_wgs84([x, y])), [x, y], atol=2e-4)


def test_contract_a_pole_and_nan_are_refused() -> None:
    with pytest.raises(OutOfModel):
        SiteFrame(Origin(latitude_rad=radians(89.5), longitude_rad=0.0, elevation_m=0.0))
    with pytest.raises(OutOfModel):
        SiteFrame(Origin(latitude_rad=float("nan"), longitude_rad=0.0, elevation_m=0.0))
