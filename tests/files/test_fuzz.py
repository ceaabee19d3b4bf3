"""Damaged files for each reader; `python tests/reader_fuzz.py` takes as many as are asked for."""

from __future__ import annotations

import pytest

from reader_fuzz import fuzz, subjects


@pytest.mark.parametrize("name", list(subjects()))
def test_property_a_damaged_file_is_read_or_refused_in_words(name: str) -> None:
    counts, broke = fuzz(name, 500)
    assert not broke
    # The damage must leave some files readable, or it would only ever show the first check.
    assert min(counts["read"], counts["refused"]) > 15
