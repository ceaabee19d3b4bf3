"""Splits by the names that people write."""

import pytest

from coldfield.files.split_names import split_called


@pytest.mark.parametrize(
    ("written", "split"),
    [
        ("Probe strike", "probe_strike"),
        ("strike", "probe_strike"),
        ("PROBE-STRIKE", "probe_strike"),
        ("Airway", "airway_clear"),
        ("Sondentreffer", "probe_strike"),
        ("within 10 m", "within_10_m"),
        ("Probes ready", "Probes ready"),
        ("", ""),
    ],
)
def test_contract_a_split_is_known_by_its_name_in_any_language_and_by_short_names(
    written: str, split: str
) -> None:
    assert split_called(written) == split
