"""What devices record of a walk: a drift that is rough (exponential kernel), smooth (squared exponential
kernel) or that of a phone that lags and freezes at rest; white noise, and dropouts.
"""

from __future__ import annotations

import numpy as np
from debrief_walks import Walk

from coldfield.drill.frame import SiteFrame
from coldfield.drill.recorded import Recorded
from recorded_tracks import NOON, VARDHOLM

KERNELS = ("rough", "smooth", "phone")


def recorded_by(walk: Walk, kernel: str, rng: np.random.Generator) -> Recorded:
    """Return what a device of a kind records of a walk, once a second, with dropouts."""
    t, true = walk.t_s, walk.place_m
    sd, scale = float(rng.uniform(1.5, 4.0)), float(rng.uniform(60.0, 120.0))
    white = float(rng.uniform(0.3, 1.0))
    if kernel == "phone":
        late = np.column_stack([np.interp(t - 3.0, t, true[:, axis]) for axis in (0, 1)])
        place = late + drift(t, sd, scale, "smooth", rng) + white * rng.standard_normal(true.shape)
        moved = np.linalg.norm(late - np.roll(late, 4, axis=0), axis=1) > 0.6
        moved[:4] = True
        last = np.maximum.accumulate(np.where(moved, np.arange(t.size), 0))
        place = place[last]
    else:
        place = true + drift(t, sd, scale, kernel, rng) + white * rng.standard_normal(true.shape)
    keep = np.ones(t.size, dtype=bool)
    for start in rng.uniform(t[0], t[-1], rng.poisson(8.0 * (t[-1] - t[0]) / 3600.0)):
        keep &= (t < start) | (t > start + rng.exponential(25.0))
    keep[[0, -1]] = True
    lat, lon = SiteFrame(VARDHOLM).to_wgs84(place[keep])
    return Recorded(
        file=f"{walk.who}.gpx",
        name="",
        unix_s=t[keep] + NOON,
        place=np.column_stack([lat, lon]),
        segment=np.zeros(int(keep.sum()), dtype=np.int64),
        simulated=True,
    )


def drift(t: np.ndarray, sd: float, scale: float, kernel: str, rng: np.random.Generator) -> np.ndarray:
    """Return a drift (n, 2) with an exponential or squared exponential kernel, from its dense covariance."""
    if kernel == "smooth":  # smooth enough to interpolate between moments a sixth of its scale apart
        knots = np.arange(t[0], t[-1] + scale / 6.0, scale / 6.0)
        apart = np.abs(knots[:, None] - knots) / scale
        root = np.linalg.cholesky(np.exp(-0.5 * apart**2) + 1e-6 * np.eye(knots.size))
        from scipy.interpolate import CubicSpline

        return np.asarray(sd * CubicSpline(knots, root @ rng.standard_normal((knots.size, 2)))(t))
    apart = np.abs(t[:, None] - t) / scale
    return np.asarray(
        sd * np.linalg.cholesky(np.exp(-apart) + 1e-9 * np.eye(t.size)) @ rng.standard_normal((t.size, 2))
    )
