from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.rescue.wording import eight_of_ten, not_freed
from coldfield.words import say


@given(low=st.floats(0, 3600), width=st.floats(0, 3000))
@examples(100)
def test_property_a_range_has_its_unit_once_where_both_ends_are_half_minutes(low, width) -> None:
    first, last = say(eight_of_ten(low, low + width, 7200.0)).removeprefix("eight of ten: ").split(" to ")
    assert last.endswith((" min", " s"))
    assert (first[-1] in "0123456789½") == (last.endswith(" min") and not first.endswith(" s"))


def test_contract_what_is_later_than_the_horizon_is_said_so() -> None:
    assert say(eight_of_ten(252.0, 838.0, 3600.0)) == "eight of ten: 4 to 14 min"
    assert say(eight_of_ten(256.0, 870.0, 3600.0)) == "eight of ten: 4½ to 14½ min"
    assert say(eight_of_ten(240.0, None, 3600.0)) == "eight of ten: 4 min to later than 60 min"
    assert say(eight_of_ten(None, None, 1800.0)) == "nine of ten: later than 30 min"
    late = not_freed(0.94, 3600.0)
    assert late is not None
    assert say(late) == "in 6 of 100 runs not freed within 60 min"
    assert not_freed(1.0, 3600.0) is None
