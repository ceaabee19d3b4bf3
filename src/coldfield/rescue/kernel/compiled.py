"""How the parts of the kernel are compiled and cached on disk until one of them changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import njit

from coldfield.beacon.compiled import stamp_of, stamped

PARTS = ("compiled", "draws", "layout", "receiver", "moves", "approach", "dig", "crew", "event_loop")
"""The files of the kernel; their functions call each other."""

STAMP = stamp_of(
    "coldfield.beacon.field",
    "coldfield.beacon.receiver",
    *(f"coldfield.rescue.kernel.{name}" for name in PARTS),
)
"""Fingerprint of the source text of everything that is compiled into the kernel."""

_ALL: dict[str, Any] = {"cache": True, "error_model": "numpy", "_nrt": False}
"""No part creates an array, so reference counting is off (`_nrt`)."""

_PART: dict[str, Any] = {**_ALL, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}


def part(function: Callable[..., Any]) -> Any:
    """Compile a function that only compiled code calls; without a bridge to Python, which saves time."""
    return njit(**_PART)(stamped(function, STAMP))


def inner(function: Callable[..., Any]) -> Any:
    """Compile a part into each function that calls it: for what every pulse goes through.

    A call hands over each field of `Fixed` and `State`, some two hundred words: more than most parts do.
    """
    return njit(forceinline=True, **_PART)(stamped(function, STAMP))


def door(function: Callable[..., Any]) -> Any:
    """Compile a function that Python calls; it releases the GIL, so other threads can run."""
    return njit(nogil=True, **_ALL)(stamped(function, STAMP))
