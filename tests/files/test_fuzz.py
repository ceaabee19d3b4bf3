"""Damaged files for each reader; `python tests/reader_fuzz.py` tries any number."""

from __future__ import annotations

import pytest

from amount import amount
from reader_fuzz import fuzz, subjects

MUTANTS = dict.fromkeys(subjects(), 500) | {"archive": 60, "geotiff": 250}
"""The number read in a run, by reader, which takes about two seconds each."""


@pytest.mark.desk
@pytest.mark.parametrize("name", MUTANTS)
def test_property_a_damaged_file_is_read_or_refused_in_words(name: str) -> None:
    counts, broke = fuzz(name, amount(MUTANTS[name], desk=5000))
    assert not broke
    # Some files must stay readable, otherwise only the first check would be tested.
    assert min(counts["read"], counts["refused"]) > 0.03 * counts.total()
