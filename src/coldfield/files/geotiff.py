"""Open a GeoTIFF from memory; anything wrong with it becomes one fault of the file."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from coldfield.errors import BadInput
from coldfield.message import Message, Value, verbatim


@contextmanager
def opened_geotiff(
    data: bytes, source: str, *, lacking: Message, broken: Callable[[Value], Message]
) -> Iterator[Any]:
    """Yield the dataset of a GeoTIFF.

    Parameters
    ----------
    data : bytes
        The file.
    source : str
        Its name, for faults.
    lacking : Message
        The fault if the library that reads it is not installed.
    broken : callable
        Returns the fault of a file that the library cannot use, from the library's own words.

    Raises
    ------
    BadInput
        If the library is not installed, or for any fault found by the library or the dataset's reader.
    """
    try:
        import rasterio
        from rasterio.io import MemoryFile
    except ImportError:
        raise BadInput(lacking, source) from None
    try:
        with (
            rasterio.Env(GDAL_DISABLE_READDIR_ON_OPEN="EMPTY_DIR", GDAL_CACHEMAX=32),
            warnings.catch_warnings(),
            MemoryFile(data) as memory,
        ):
            warnings.simplefilter("ignore")
            with memory.open(driver="GTiff") as dataset:
                yield dataset
    except BadInput:
        raise
    except Exception as error:  # a damaged file can break the library in many ways; all are one fault
        words = next(iter(str(error).splitlines()), type(error).__name__)
        raise BadInput(broken(verbatim(words[:120])), source) from None
