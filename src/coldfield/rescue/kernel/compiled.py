"""How the parts of the kernel are compiled: cached on disk, as long as no part has changed.

numba's cache looks at the file of a function, not at the files of the functions it calls; the parts
of the kernel call each other across files. So each one is stamped with the text of all of them.
"""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from importlib.resources import files
from typing import Any

from numba import njit

_FILES = tuple(
    f"{name}.py"
    for name in ("compiled", "draws", "layout", "receiver", "moves", "approach", "dig", "crew", "event_loop")
)


def _text_stamp() -> str:
    digest = sha256()
    for name in _FILES:
        digest.update(files("coldfield.rescue.kernel").joinpath(name).read_bytes())
    return digest.hexdigest()


STAMP = _text_stamp()
"""Fingerprint of the text of all compiled parts."""

_ALL: dict[str, Any] = {"cache": True, "error_model": "numpy", "_nrt": False}
"""No part makes an array, so none counts references (`_nrt`)."""

_PART: dict[str, Any] = {**_ALL, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}


def part(function: Callable[..., Any]) -> Any:
    """Compile a function that only compiled code calls: no bridge to Python, which saves time."""
    return _stamped(njit(**_PART)(function))


def door(function: Callable[..., Any]) -> Any:
    """Compile a function that Python calls; other threads run meanwhile."""
    return _stamped(njit(nogil=True, **_ALL)(function))


def _stamped(dispatcher: Any) -> Any:
    dispatcher._cache._cache_file._source_stamp = STAMP
    return dispatcher
