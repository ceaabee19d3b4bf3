"""Observations as text: one rule for debriefs and for the splits of an archive."""

from __future__ import annotations

from typing import Any

import pytest

from coldfield.drill.run import Splits
from coldfield.files.day_model import SEEN
from coldfield.files.observed import observed_split
from coldfield.files.run_csv import read_splits, write_splits


def row(about: str, seen: bool | None = True, note: str = "") -> dict[str, Any]:
    nobody = {"searcher": None, "burial": None, "time_unix_s": None}
    return {"about": about, "seen": seen, "note": note, "since_alarm_s": 60.0, **nobody}


@pytest.mark.parametrize("code", SEEN)
def test_contract_a_code_is_said_in_words(code: str) -> None:
    assert observed_split(row(code)).note == code.replace("_", " ")


def test_contract_own_words_stay_and_what_was_not_seen_is_said() -> None:
    assert observed_split(row("rope_left, twice", None)).note == "rope_left, twice"
    assert observed_split(row("call_made", False, "no phone")).note == "call made (not seen): no phone"


def test_contract_a_formula_in_own_words_is_harmless_in_the_csv_and_comes_back() -> None:
    told = Splits(rows=(observed_split(row("=1+cmd|' /C calc'!A0", None)),))
    text = write_splits(told)
    assert "'=1+cmd" in text
    assert not [
        cell for line in text.splitlines() for cell in line.split(",") if cell.strip('"').startswith("=")
    ]
    assert [one.note for one in read_splits(text).rows] == ["=1+cmd|' /C calc'!A0"]


@pytest.mark.parametrize(
    ("about", "seen", "note", "said"),
    [
        ("leader named: Ines", None, "", "leader named: Ines"),
        ("leader named: Ines", True, "quickly", "leader named: Ines, quickly"),
        ("leader_named", False, "", "leader named (not seen)"),
        ("dug from below: by three", None, "", "dug from below: by three"),
    ],
)
def test_regression_a_kept_observation_loses_none_of_its_words(
    about: str, seen: bool | None, note: str, said: str
) -> None:
    row = {"about": about, "seen": seen, "note": note, "searcher": None, "burial": None}
    assert observed_split({**row, "time_unix_s": None, "since_alarm_s": 1.0}).note == said
