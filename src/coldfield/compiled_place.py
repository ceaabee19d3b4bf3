"""Where compiled loops are cached: in the user's cache folder, by their source text.

A separate installation for each version, as made by tool runners, then compiles only what has changed.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from shutil import rmtree
from typing import Any, Self

from numba import config
from numba.core.caching import _CacheLocator
from platformdirs import user_cache_path

STAMP = "__made_from__"
"""The attribute of a function with the digest of its source text."""

_SETTINGS: Any = config
"""numba's settings, made from the environment, so type checkers do not know their names."""

MOST_KEPT = 12
"""The number of texts kept, those compiled last; an installation needs four."""


class KeptByText(_CacheLocator):
    """Gives numba the cache folder of a function with a stamp; other functions are ignored."""

    def __init__(self, stamp: str, line: int) -> None:
        self._stamp = stamp
        self._line = line

    @classmethod
    def from_function(cls, py_func: Callable[..., Any], _py_file: str) -> Self | None:
        """Return the locator of a function, None if it has no stamp or the folder is not writable."""
        stamp = getattr(py_func, STAMP, None)
        if stamp is None:
            return None
        place = cls(stamp, py_func.__code__.co_firstlineno)
        with suppress(OSError):
            place.ensure_cache_path()
            return place
        return None

    def get_cache_path(self) -> str:
        """Return the folder."""
        return str(base() / self._stamp[:16])

    def get_source_stamp(self) -> str:
        """Return the stamp that numba compares with its index."""
        return self._stamp

    def get_disambiguator(self) -> str:
        """Return what distinguishes two functions with the same name."""
        return str(self._line)

    def ensure_cache_path(self) -> None:
        """Create the folder if it is missing, and delete those of old texts."""
        path = Path(self.get_cache_path())
        if not path.is_dir():
            path.mkdir(parents=True, exist_ok=True)
            _forget_old(path.parent)
        if not os.access(path, os.W_OK):
            raise PermissionError(path)


def folder_of(function: Callable[..., Any]) -> Path | None:
    """Return the cache folder for a function's source text, None if it is not writable."""
    place = KeptByText.from_function(function, "")
    return None if place is None else Path(place.get_cache_path())


def base() -> Path:
    """Return the folder of all texts: `NUMBA_CACHE_DIR`, or the user's own."""
    return Path(_SETTINGS.CACHE_DIR or user_cache_path("coldfield") / "compiled")


def is_kept(dispatcher: Any) -> bool:
    """Return whether a function is on disk, compiled from the current text by this numba."""
    return bool(dispatcher._cache._cache_file._load_index())


def _forget_old(folder: Path) -> None:
    with suppress(OSError):
        by_age = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
        for old in by_age[MOST_KEPT:]:
            rmtree(old, ignore_errors=True)


_SETTINGS.CACHE_LOCATOR_CLASSES = ",".join(
    (
        f"{__name__}.{KeptByText.__name__}",
        "UserProvidedCacheLocator",
        "InTreeCacheLocator",
        "UserWideCacheLocator",
        "IPythonCacheLocator",
        "ZipCacheLocator",
    )
)
