"""How the parts of the kernel are compiled: cached on disk, callable from each other only."""

from __future__ import annotations

from typing import Any

from numba import njit

_ALL: dict[str, Any] = {"cache": True, "error_model": "numpy", "_nrt": False}
"""No part makes an array, so none counts references (`_nrt`)."""

_PART: dict[str, Any] = {**_ALL, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}

part = njit(**_PART)
"""A function that only compiled code calls: no bridge to Python, which saves time to compile."""

door = njit(nogil=True, **_ALL)
"""A function that Python calls; other threads run meanwhile."""
