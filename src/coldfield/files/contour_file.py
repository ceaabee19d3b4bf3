"""Contour lines for a map program: GeoJSON (RFC 7946), in WGS84."""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from coldfield.drill.frame import SiteFrame

_DIGITS = 7
"""Decimals of a degree: 1.1 cm."""


def contours_geojson(contours: Sequence[tuple[float, NDArray[np.float64]]], frame: SiteFrame) -> str:
    """Return contours, each an elevation and a line (k, 2) in the site frame, as GeoJSON.

    Each LineString has `elevation_m`.

    Raises
    ------
    BadInput
        If the site has no map position yet.
    """
    features = []
    for elevation, line in contours:
        if len(line) < 2:
            continue
        latitude, longitude = frame.on_earth(line)
        places = np.round(np.degrees(np.column_stack([longitude, latitude])), _DIGITS).tolist()
        features.append(
            {
                "type": "Feature",
                "properties": {"elevation_m": elevation},
                "geometry": {"type": "LineString", "coordinates": places},
            }
        )
    return json.dumps({"type": "FeatureCollection", "features": features}) + "\n"
