"""Damaged files for each reader; `python tests/reader_fuzz.py` takes as many as are asked for."""

from __future__ import annotations

import pytest

from amount import amount
from reader_fuzz import fuzz, subjects

MUTANTS = dict.fromkeys(subjects(), 500) | {"archive": 60, "geotiff": 250}
"""How many are read in a run, by reader: what takes about two seconds."""


@pytest.mark.desk
@pytest.mark.parametrize("name", MUTANTS)
def test_property_a_damaged_file_is_read_or_refused_in_words(name: str) -> None:
    counts, broke = fuzz(name, amount(MUTANTS[name], desk=5000))
    assert not broke
    # The damage must leave some files readable, or it would only ever show the first check.
    assert min(counts["read"], counts["refused"]) > 0.03 * counts.total()
