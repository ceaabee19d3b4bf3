"""Detection against coverage: search theory for cases in which the real lateral range curve is unknown."""

from __future__ import annotations

from math import pi, sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erf

from coldfield.errors import OutOfModel
from coldfield.message import message

Kind = Literal["definite", "inverse cube", "random"]


def detection_at_coverage(coverage: ArrayLike, kind: Kind) -> NDArray[np.float64]:
    """Return the chance of detection in one pass with evenly spaced lanes, from the coverage.

    Parameters
    ----------
    coverage : array_like, any shape
        Sweep width over the spacing of the lanes.
    kind : {"definite", "inverse cube", "random"}
        Definite range: min(C, 1). Inverse cube: erf(sqrt(pi) C / 2). Random search: 1 - exp(-C).

    Raises
    ------
    OutOfModel
        If the coverage is negative or not finite.

    References
    ----------
    .. [1] B. O. Koopman, *Search and Screening*, OEG Report 56, 1946, ch. 2 and 3 (from memory).

    Examples
    --------
    >>> detection_at_coverage([1.0, 2.0], "inverse cube").round(4).tolist()
    [0.7899, 0.9878]
    """
    c = np.asarray(coverage, dtype=np.float64)
    if not (np.isfinite(c).all() and (c >= 0.0).all()):
        raise OutOfModel(message("fault.coverage"))
    if kind == "definite":
        return np.minimum(c, 1.0)
    if kind == "inverse cube":
        return np.asarray(erf(0.5 * sqrt(pi) * c))
    return np.asarray(-np.expm1(-c))
