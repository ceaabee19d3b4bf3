import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.beacon.interference import nearby_source_table, noise_rise_from_ranges_db
from coldfield.drill import Receiver, Transmitter
from coldfield.errors import OutOfModel
from coldfield.search.width.lateral_range import Pair
from published import derived


@given(quiet=st.floats(5, 90), today=st.floats(2, 90))
@examples(40)
def test_property_a_shortened_range_and_its_noise_are_one_thing(quiet: float, today: float) -> None:
    rise = noise_rise_from_ranges_db(quiet_range_m=quiet, today_range_m=today)
    if not -20 <= rise <= 80:
        return
    pair = Pair(receiver=Receiver(coaxial_range_m=quiet), transmitter=Transmitter(), noise_rise_db=rise)
    assert pair.coaxial_range_m() == pytest.approx(today, rel=1e-9)


def test_independent_route_near_field_from_20_to_50_cm() -> None:
    # 23.9 dB for a source far above the set's own noise, whose rise then follows the near field.
    rows = {row.distance_m: row.noise_rise_db for row in nearby_source_table(40.0, (0.2, 0.5))}
    expected = derived("interference")["near_field_20_to_50_cm_db"]
    assert rows[0.2] - rows[0.5] == pytest.approx(expected, abs=0.05)


def test_property_farther_away_is_quieter_and_leaves_more_range() -> None:
    rows = nearby_source_table(3.0)
    assert (np.diff([r.noise_rise_db for r in rows]) < 0).all()
    assert (np.diff([r.range_share for r in rows]) > 0).all()
    assert next(r for r in rows if r.distance_m == 0.5).noise_rise_db == pytest.approx(3.0)


@pytest.mark.parametrize("figures", [(0.0, (0.5,)), (-1.0, (0.5,)), (50.0, (0.5,)), (1.0, (0.0,))])
def test_contract_figures_outside_the_model_are_refused(figures) -> None:
    with pytest.raises(OutOfModel):
        nearby_source_table(*figures)


@pytest.mark.parametrize("ranges", [(0.0, 20.0), (45.0, -1.0), (45.0, 500.0), (float("nan"), 20.0)])
def test_contract_ranges_outside_the_model_are_refused(ranges) -> None:
    with pytest.raises(OutOfModel):
        noise_rise_from_ranges_db(quiet_range_m=ranges[0], today_range_m=ranges[1])
