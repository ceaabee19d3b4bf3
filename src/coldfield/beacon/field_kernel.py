"""The static dipole field as a compiled loop; imported only for large arrays."""

from __future__ import annotations

from math import isfinite, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.compiled import compiled, dipole_parts


@compiled(__name__)
def fill_dipole_field(m: NDArray[np.float64], d: NDArray[np.float64], out: NDArray[np.float64]) -> bool:
    """Write the field of moments `m` at offsets `d`, all (n, 3), into `out`; False if one is refused."""
    fine = True
    for i in range(d.shape[0]):
        mx, my, mz = m[i, 0], m[i, 1], m[i, 2]
        x, y, z = d[i, 0], d[i, 1], d[i, 2]
        r2 = x * x + y * y + z * z
        if not (r2 > 0.0 and isfinite(r2) and isfinite(mx + my + mz)):
            fine = False
            r2 = 1.0
        inverse = 1.0 / r2
        _, _, _, sx, sy, sz = dipole_parts(x, y, z, mx, my, mz, inverse, 0.0)
        scale = inverse / (4.0 * pi * sqrt(r2))
        out[i, 0] = scale * sx
        out[i, 1] = scale * sy
        out[i, 2] = scale * sz
    return fine
