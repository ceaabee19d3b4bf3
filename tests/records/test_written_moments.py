"""The faults of moments, days and ids that cannot be used."""

from __future__ import annotations

import pytest

from coldfield.errors import BadInput
from coldfield.records.checking import read_form

MOMENT = "such as 2026-02-14T10:30:00+01:00"


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("0001-01-01T00:00:00+14:00", f"must be a moment from 1970 to 2099, {MOMENT}"),
        ("9999-12-31T23:59:59-12:00", f"must be a moment from 1970 to 2099, {MOMENT}"),
        ("20260214T103000Z", f"must be a moment from 1970 to 2099, {MOMENT}"),
        ("1970-01-01T00:30:00+05:00", "must lie between 1970 and 2099 in UTC"),
        ("2099-12-31T23:30:00-05:00", "must lie between 1970 and 2099 in UTC"),
        ("2026-02-14T10:30:00", "must name its zone, such as 2026-02-14T10:30:00+01:00 or ...Z"),
        ("2026-06-30T23:59:60Z", f"must be a real moment, {MOMENT}"),
        ("2026-02-30T10:30:00Z", f"must be a real moment, {MOMENT}"),
        ("yesterday", f"must be a real moment, {MOMENT}"),
        ("2026-02-14T10:30:00Z\n", f"must be a real moment, {MOMENT}"),
    ],
)
def test_contract_a_moment_that_cannot_be_used_is_told_with_one_that_can(written: str, words: str) -> None:
    with pytest.raises(BadInput) as told:
        read_form("runs", {"drill_id": "a", "drill_version": 1, "held_utc": written})
    assert f"held_utc: {words}" in list(told.value.lines())


@pytest.mark.parametrize("written", ["", "_a", "a b", "a/b", "ä", "a" * 65, "a\n"])
def test_contract_an_id_that_cannot_be_used_is_told_with_what_it_may_hold(written: str) -> None:
    with pytest.raises(BadInput) as told:
        read_form("runs", {"drill_id": written, "drill_version": 1, "held_utc": "2026-02-14T10:30:00Z"})
    words = "drill_id: must be 1 to 64 letters, digits, - and _ that begin with a letter or digit"
    assert words in list(told.value.lines())


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("1969-12-31", "must be a date from 1970 to 2099, such as 2026-02-14"),
        ("20260214", "must be a date from 1970 to 2099, such as 2026-02-14"),
        ("2026-02-30", "must be a real date, such as 2026-02-14"),
    ],
)
def test_contract_a_day_that_cannot_be_used_is_told_with_one_that_can(written: str, words: str) -> None:
    with pytest.raises(BadInput) as told:
        read_form("days", {"course_id": "a", "date": written})
    assert any(line.endswith(words) for line in told.value.lines()), list(told.value.lines())


def test_regression_moments_inside_a_debrief_are_told_like_any_other() -> None:
    run = {"alarm_utc": "2026-02-30T10:30:00Z", "zero_utc": "2026-02-14T10:30:00"}
    with pytest.raises(BadInput) as told:
        read_form("debriefs", {"run_id": "a", "made_by": {}, "document": {"run": run}})
    lines = list(told.value.lines())
    assert any(line.endswith(f"run.alarm_utc: must be a real moment, {MOMENT}") for line in lines), lines
    assert any("run.zero_utc: must name its zone" in line for line in lines), lines
