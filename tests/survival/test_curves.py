import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.errors import OutOfModel
from coldfield.survival.curves import CURVES, DEFAULT, survival_range
from coldfield.words import languages, say
from published import from_memory, published

PLACES = {
    "switzerland_1981_1991": "Switzerland 1981-1991",
    "switzerland_1981_1991_late": "Switzerland 1981-1991",
    "switzerland_2001": "Switzerland (2001 curve)",
    "switzerland_2001_late": "Switzerland (2001 curve)",
    "canada_1980_2005": "Canada 1980-2005",
    "austria_switzerland_2005_2013": "Austria and Switzerland 2005-2013",
    "switzerland_1981_2020": "Switzerland 1981-2020",
}


@pytest.mark.parametrize("entry", published("survival_curves"))
def test_published_points_lie_on_their_curve(entry: str) -> None:
    assert_on_curve(entry, published("survival_curves")[entry])


@pytest.mark.parametrize("entry", from_memory("survival_curves"))
def test_from_memory_late_points_lie_on_their_curve(entry: str) -> None:
    assert_on_curve(entry, from_memory("survival_curves")[entry])


def assert_on_curve(entry: str, points: list[list[float]]) -> None:
    # Printed to two digits; if only a range is printed, inside it.
    for minutes, *alive in points:
        value = float(CURVES[PLACES[entry]].survival(minutes * 60))
        assert min(alive) - 0.005 <= value <= max(alive) + 0.005


def test_published_intervals_are_carried_with_their_points() -> None:
    for minutes, alive, low, high in published("survival_curves")["switzerland_1981_2020"]:
        point = next(p for p in DEFAULT.points if p.minutes == minutes)
        assert (point.survival, point.low, point.high) == (alive, low, high)


def test_contract_default_is_the_newest_swiss_curve_with_its_borrowed_tail_marked() -> None:
    assert DEFAULT.name == "Switzerland 1981-2020"
    late = DEFAULT.survival([90 * 60, 130 * 60]) - CURVES["Switzerland (2001 curve)"].survival(
        [90 * 60, 130 * 60]
    )
    assert late == pytest.approx([0.31 - 0.34, 0.0])
    assert DEFAULT.standing_at(130 * 60) == "memory"
    assert DEFAULT.standing_at(20 * 60) == "second-hand"


@pytest.mark.parametrize("curve", CURVES.values(), ids=lambda c: c.name)
def test_contract_every_curve_states_its_source_and_both_ends(curve) -> None:
    assert curve.source
    assert curve.before
    assert curve.after
    assert float(curve.survival(0)) == 1.0
    assert float(curve.survival(1e6)) == curve.points[-1].survival


@examples(60)
@given(
    name=st.sampled_from(sorted(CURVES)),
    times_s=st.lists(st.floats(min_value=0, max_value=2e4), min_size=2, max_size=8).map(sorted),
)
def test_property_survival_never_rises_and_stays_between_0_and_1(name: str, times_s: list[float]) -> None:
    alive = CURVES[name].survival(times_s)
    assert (np.diff(alive) <= 1e-15).all()
    assert ((alive >= 0) & (alive <= 1)).all()


@examples(40)
@given(seconds=st.floats(min_value=0, max_value=1e4))
def test_property_range_holds_every_curve(seconds: float) -> None:
    low, high = survival_range(seconds)
    assert all(low <= float(c.survival(seconds)) <= high for c in CURVES.values())


def test_contract_negative_time_is_refused() -> None:
    with pytest.raises(OutOfModel, match="negative"):
        DEFAULT.survival(-1.0)


@pytest.mark.parametrize("curve", CURVES.values(), ids=lambda c: c.name)
def test_contract_a_curve_is_named_in_every_language_and_by_its_key_in_english(curve) -> None:
    years = re.findall(r"\d{4}", curve.name)
    for tag in languages():
        assert re.findall(r"\d{4}", say(curve.label, tag)) == years
    assert say(curve.label, "en") == curve.name
