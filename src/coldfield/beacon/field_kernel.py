"""The static dipole field as a compiled loop; imported only for large arrays."""

from __future__ import annotations

from math import isfinite, pi, sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def fill_dipole_field(m: NDArray[np.float64], d: NDArray[np.float64], out: NDArray[np.float64]) -> bool:
    """Write the field of moments `m` at offsets `d`, all of shape (n, 3), into `out`; False: refused."""
    fine = True
    for i in range(d.shape[0]):
        mx, my, mz = m[i, 0], m[i, 1], m[i, 2]
        x, y, z = d[i, 0], d[i, 1], d[i, 2]
        r2 = x * x + y * y + z * z
        if not (r2 > 0.0 and isfinite(r2) and isfinite(mx + my + mz)):
            fine = False
            r2 = 1.0
        along = 3.0 * (x * mx + y * my + z * mz) / r2
        scale = 1.0 / (4.0 * pi * r2 * sqrt(r2))
        out[i, 0] = scale * (along * x - mx)
        out[i, 1] = scale * (along * y - my)
        out[i, 2] = scale * (along * z - mz)
    return fine
