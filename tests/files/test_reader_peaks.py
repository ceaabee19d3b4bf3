"""No file, however it was made, takes a reader more than 500 MB.

The most expensive files of each reader are read in every run, all of them with `make desk`.
"""

from __future__ import annotations

import pytest

from amount import DESK
from heavy_files import FILES
from reader_costs import MOST_PEAK_BYTES, READERS, costs

EVERY_TIME = {
    "gpx": ("one element with 4 million attributes", "a name of 60 MB"),
    "fit": ("a million definitions", "files in a row"),
    "track csv": ("64 MB of commas", "a header of 20 million columns", "cells of 1e308"),
    "zip of tracks": ("a name given 190 times", "a directory of 60,000", "zip within zip"),
    "splits": ("5 MB of rows", "an open quote"),
    "drill": ("brackets", "two holes like combs across each other", "letters in six"),
    "boundary geojson": ("120,000 corners", "collections within each other"),
    "boundary gpx": ("points", "waypoints"),
    "ascii grid": ("74 million words", "a header of 149 MB"),
    "geotiff": ("16 million cells of nothing", "one tile of 400 million"),
    "picture": ("16 million pixels of JPEG", "a PNG that says it is 3 GB", "a GeoTIFF of four bands"),
    "wav": ("64 MB of samples", "chunks of nothing"),
    "archive": ("one member 25 times", "an entry of 90 MB", "a manifest of 60 MB", "brackets"),
    "day file": ("empty objects", "one number", "lists"),
}


def test_contract_each_reader_has_its_heavy_files() -> None:
    assert set(FILES) == set(READERS) == set(EVERY_TIME)
    assert all(set(names) <= set(FILES[reader]) for reader, names in EVERY_TIME.items())


@pytest.mark.desk
@pytest.mark.parametrize("reader", list(FILES))
def test_contract_the_peak_of_a_reader_stays_within_its_bound(reader: str) -> None:
    names = list(FILES[reader]) if DESK else list(EVERY_TIME[reader])
    found = list(costs(reader, names))
    assert [one.file for one in found] == names
    for one in found:
        assert one.peak_bytes < MOST_PEAK_BYTES, one
        assert one.outcome.startswith(("read", "refused: ")), one
    # A peak below that of the program itself would mean that nothing was measured.
    assert min(one.peak_bytes for one in found) > 40_000_000
