"""No file, whatever was made of it, takes a reader more than 500 MB; `python tests/reader_costs.py` prints each."""

from __future__ import annotations

import pytest

from heavy_files import FILES
from reader_costs import MOST_PEAK_BYTES, READERS, costs


def test_contract_each_reader_has_its_heavy_files() -> None:
    assert set(FILES) == set(READERS)


@pytest.mark.parametrize("reader", list(FILES))
def test_contract_the_peak_of_a_reader_stays_within_its_bound(reader: str) -> None:
    found = list(costs(reader))
    assert {one.file for one in found} == set(FILES[reader])
    for one in found:
        assert one.peak_bytes < MOST_PEAK_BYTES, one
        assert one.outcome.startswith(("read", "refused: ")), one
    # A peak below that of the program itself would mean that nothing was measured.
    assert min(one.peak_bytes for one in found) > 40_000_000
