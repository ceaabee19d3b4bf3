"""Where compiled loops are kept: in the user's cache folder, by the text that they are made from.

An installation of its own for each version, as tool runners make it, then compiles only what has changed.
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
"""The attribute of a function that tells which text it is compiled from."""

_SETTINGS: Any = config
"""numba's own, which it makes from the environment: no type checker knows their names."""

MOST_KEPT = 12
"""So many texts are kept, those compiled last; an installation needs four."""


class KeptByText(_CacheLocator):
    """Tells numba the folder of a function that has a stamp; others have none here."""

    def __init__(self, stamp: str, line: int) -> None:
        self._stamp = stamp
        self._line = line

    @classmethod
    def from_function(cls, py_func: Callable[..., Any], _py_file: str) -> Self | None:
        """Return the place of a function, None where it has no stamp or nothing can be written there."""
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
        """Return what the index in the folder is compared with."""
        return self._stamp

    def get_disambiguator(self) -> str:
        """Return what tells two functions of one name apart."""
        return str(self._line)

    def ensure_cache_path(self) -> None:
        """Make the folder where there is none, and let go of those of old texts."""
        path = Path(self.get_cache_path())
        if not path.is_dir():
            path.mkdir(parents=True, exist_ok=True)
            _forget_old(path.parent)
        if not os.access(path, os.W_OK):
            raise PermissionError(path)


def folder_of(function: Callable[..., Any]) -> Path | None:
    """Return the folder for what is compiled from a function's text, None where nothing can be written."""
    place = KeptByText.from_function(function, "")
    return None if place is None else Path(place.get_cache_path())


def base() -> Path:
    """Return the folder of all texts: the one that `NUMBA_CACHE_DIR` names, or the user's own."""
    return Path(_SETTINGS.CACHE_DIR or user_cache_path("coldfield") / "compiled")


def is_kept(dispatcher: Any) -> bool:
    """Tell whether a compiled function lies ready on disk, made from today's text by this numba."""
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
