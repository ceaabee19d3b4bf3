from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coldfield.rescue.helps import OPPOSITES, STEADY, helps, in_order
from coldfield.rescue.wording import about_range, eight_of_ten
from coldfield.rescue.worth import Worth


def worth(change: str, minutes: float, error: float) -> Worth:
    return Worth(
        change=change,
        gain_survivors=0.0,
        standard_error=0.0,
        gain_minutes=minutes,
        minutes_standard_error=error,
    )


@given(
    gain=st.floats(-3, 3),
    error=st.floats(0.001, 1),
    drawn=st.lists(st.floats(-3, 3), min_size=4, max_size=24),
)
@settings(max_examples=200, deadline=None)
def test_property_nothing_is_said_within_two_errors_or_where_signs_flip(gain, error, drawn) -> None:
    told = helps(worth("x", gain, error), np.array(drawn))
    same = np.mean(np.sign(drawn) == np.sign(gain))
    if abs(gain) <= 2 * error or same < STEADY:
        assert told.verdict == "unclear"
    elif abs(gain) > 1 / 60:
        assert told.verdict == ("helps" if gain > 0 else "hurts")
    assert told.helps_fraction == pytest.approx(np.mean(np.array(drawn) > 0))


@given(gains=st.tuples(st.floats(-1, 1), st.floats(-1, 1)))
@settings(max_examples=60, deadline=None)
def test_property_narrower_and_wider_never_both_help(gains) -> None:
    (pair,) = OPPOSITES
    found = [helps(worth(name, gain, 0.01), np.full(8, gain)) for name, gain in zip(pair, gains, strict=True)]
    verdicts = [one.verdict for one in in_order([*found, helps(worth("dig", 0.5, 0.1), np.full(8, 0.5))])]
    assert verdicts.count("helps") <= 2
    told = {one.worth.change: one.verdict for one in in_order(found)}
    assert not all(told[name] == "helps" for name in pair)


@given(low=st.floats(0, 3600), width=st.floats(0, 3000))
@settings(max_examples=100, deadline=None)
def test_property_a_range_has_its_unit_once_where_both_ends_are_whole_minutes(low, width) -> None:
    words = about_range(low, low + width)
    first, last = words.split(" to ")
    assert last.endswith((" min", " s"))
    assert first[-1].isdigit() == (last.endswith(" min") and not first.endswith(" s") and "min" not in first)


def test_contract_what_is_later_than_the_horizon_is_said_so() -> None:
    assert eight_of_ten(240.0, 838.0, 3600.0) == "eight of ten: 4 to 14 min"
    assert eight_of_ten(240.0, None, 3600.0) == "eight of ten: 4 min to later than 60 min"
    assert eight_of_ten(None, None, 1800.0) == "nine of ten: later than 30 min"
