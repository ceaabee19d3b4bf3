"""Detection against coverage: what search theory says where a real lateral range curve is not known."""

from __future__ import annotations

from math import erf, exp, pi, sqrt
from typing import Literal

from coldfield.errors import OutOfModel
from coldfield.message import message

Kind = Literal["definite", "inverse cube", "random"]


def detection_at_coverage(coverage: float, kind: Kind) -> float:
    """Return the chance of detection by one pass of even lanes, from the coverage.

    Parameters
    ----------
    coverage : float
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
    >>> [round(detection_at_coverage(1.0, kind), 4) for kind in ("definite", "inverse cube", "random")]
    [1.0, 0.7899, 0.6321]
    """
    if not 0.0 <= coverage < float("inf"):
        raise OutOfModel(message("fault.coverage"))
    if kind == "definite":
        return min(coverage, 1.0)
    if kind == "inverse cube":
        return erf(0.5 * sqrt(pi) * coverage)
    return 1.0 - exp(-coverage)
