import numpy as np
import pytest

from coldfield.beacon.calibration import calibrate, measured
from coldfield.beacon.receiver import antenna_factors, threshold_a_per_m
from coldfield.drill import Receiver, Transmitter
from coldfield.errors import BadInput
from coldfield.search.width.lateral_range import Pair
from published import published


def test_property_ranges_of_a_known_receiver_give_it_back() -> None:
    true = Receiver(coaxial_range_m=40.0, vertical_range_m=22.0)
    pair = Pair(receiver=true, transmitter=Transmitter())
    fitted = calibrate(
        coaxial_runs_m=(40.0,) * 3, coplanar_runs_m=(pair.coplanar_range_m(),) * 3, upright_runs_m=(22.0,) * 3
    )
    assert fitted.threshold_a_per_m == pytest.approx(threshold_a_per_m(true), rel=1e-9)
    np.testing.assert_allclose(antenna_factors(fitted.receiver), antenna_factors(true), rtol=1e-9)
    assert fitted.agreement == pytest.approx(0.0, abs=1e-6)
    assert fitted.coaxial_range_m == pytest.approx(40.0)


def test_independent_route_errors_by_measuring_a_thousand_times() -> None:
    # Three runs each with 4 % scatter: the spread of the fitted range must be as stated.
    rng = np.random.default_rng(6)
    pair = Pair(receiver=Receiver(coaxial_range_m=40.0), transmitter=Transmitter())
    fits = []
    for _ in range(400):
        runs = [tuple(r * (1 + 0.04 * rng.normal(size=3))) for r in (40.0, pair.coplanar_range_m())]
        fits.append(calibrate(coaxial_runs_m=runs[0], coplanar_runs_m=runs[1]))
    ranges = np.array([f.coaxial_range_m for f in fits])
    # By hand: 0.04 / sqrt(3) each, two of them: 0.65 m; weights from the scatter of three runs are noisy and
    # add about a quarter.
    assert ranges.mean() == pytest.approx(40.0, abs=4 * ranges.std() / 20)
    assert 0.6 < ranges.std() < 0.95
    assert np.median([f.coaxial_range_error_m for f in fits]) == pytest.approx(0.5, abs=0.2)


def test_published_parallel_share_agrees_with_the_model() -> None:
    # A club's article: in parallel position about 80 % of the greatest range; the model says 0.79
    # close by and 0.76 at 45 m. Its one digit is kept to 5 %.
    share = published("magnetic_dipole")["parallel_share_of_range"]
    for reach in (10.0, 30.0, 45.0):
        pair = Pair(receiver=Receiver(coaxial_range_m=reach), transmitter=Transmitter())
        assert pair.coplanar_range_m() / pair.coaxial_range_m() == pytest.approx(share, rel=0.055)


def test_contract_ranges_that_do_not_fit_are_told() -> None:
    fitted = calibrate(coaxial_runs_m=(45.0, 45.2, 44.8), coplanar_runs_m=(44.0, 44.1, 43.9))
    assert fitted.agreement is not None
    assert fitted.agreement > 3
    assert any(note.code == "note.ranges_do_not_fit" for note in fitted.notes)


def test_contract_one_run_is_doubted_more_than_three() -> None:
    assert measured((40.0,), "x").standard_error_m > measured((39.8, 40.0, 40.2), "x").standard_error_m


@pytest.mark.parametrize(
    "runs",
    [{"coaxial_runs_m": ()}, {"coaxial_runs_m": (0.0,)}, {"coaxial_runs_m": (-4.0,)}, {"coaxial_runs_m": (400.0,)},
     {"coaxial_runs_m": (40.0,), "upright_runs_m": (50.0,)},
     {"coaxial_runs_m": (40.0,), "upright_runs_m": (20.0,), "antennas": 2}],
)  # fmt: skip
def test_contract_runs_that_cannot_be_are_refused(runs: dict) -> None:
    with pytest.raises(BadInput):
        calibrate(**runs)
