"""How formulas get into compiled loops, and how the cache notices that one has changed.

numba keeps compiled functions on disk. It checks only the file of a function, not the files of
functions that are compiled into it. Each function therefore gets a stamp made from the text of all its
modules, and is cached under that stamp (`coldfield.compiled_place`).
"""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from importlib.resources import files
from typing import Any

from numba import njit

from coldfield.beacon import formulas
from coldfield.compiled_place import STAMP

FORMULAS = ("coldfield.beacon.formulas", "coldfield.beacon.compiled")
"""The modules that go into every compiled loop."""


FINITE = {"contract", "reassoc", "arcp", "nsz"}
"""What `fastmath` may change in loops that also meet infinity or nan."""


def stamp_of(*modules: str) -> str:
    """Return a fingerprint of the text of some modules, and of the formulas."""
    digest = sha256()
    for module in (*FORMULAS, *modules):
        package, _, name = module.rpartition(".")
        digest.update(files(package).joinpath(f"{name}.py").read_bytes())
    return digest.hexdigest()


def stamped(function: Callable[..., Any], stamp: str) -> Callable[..., Any]:
    """Record which source text a function is compiled from, before numba gets it."""
    setattr(function, STAMP, stamp)
    return function


def compiled(*modules: str, **options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Return a decorator that compiles a function and caches it until one of its modules changes.

    Parameters
    ----------
    modules : str
        Modules with functions that are compiled into this one, including its own.
    options
        Options of `numba.njit`.
    """
    stamp = stamp_of(*modules)

    def decorate(function: Callable[..., Any]) -> Any:
        return njit(cache=True, **options)(stamped(function, stamp))

    return decorate


def inlined(function: Callable[..., Any]) -> Any:
    """Inline a function into its callers, so that it is compiled with their options."""
    return njit(inline="always")(function)


dipole_parts = inlined(formulas.dipole_parts)
ellipse_squares = inlined(formulas.ellipse_squares)
ellipse_gap2 = inlined(formulas.ellipse_gap2)
along_and_across = inlined(formulas.along_and_across)
held_square = inlined(formulas.held_square)
turned_square = inlined(formulas.turned_square)
half_axes = inlined(formulas.half_axes)
reading_m = inlined(formulas.reading_m)
carry_height_m = inlined(formulas.carry_height_m)
table_value = inlined(formulas.table_value)
