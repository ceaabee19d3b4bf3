"""Plain lists and numbers for JSON, every number finite."""

from __future__ import annotations

from math import isfinite
from typing import Any

import numpy as np


class Plain(list[Any]):
    """A long list already in plain Python, every number finite: left alone by `finite`."""


def shown_readings(shown: Any) -> Plain:
    """Return readings to a tenth of a metre, None where nothing was heard."""
    values = np.round(shown, 1).astype(object)
    values[~np.isfinite(shown)] = None
    return Plain(values.tolist())


def finite(value: Any) -> Any:
    """Return the same with every number that is not finite turned into None, and plain Python types."""
    if isinstance(value, Plain):
        return value
    if isinstance(value, dict):
        return {key: finite(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [finite(one) for one in value]
    if isinstance(value, float):
        return float(value) if isfinite(value) else None
    if isinstance(value, np.generic):
        return finite(value.item())
    return value


def points(line: Any, digits: int = 2) -> Plain:
    """Return rounded points of a line of finite places."""
    return Plain(np.round(np.asarray(line, dtype=np.float64), digits).tolist())
