import numpy as np
import pytest

from coldfield.drill import Receiver, Transmitter
from coldfield.errors import OutOfModel
from coldfield.search.width.lateral_range import Pair, lateral_curve
from coldfield.search.width.strip_width import chance_at_width, sweep_width_m
from coldfield.search.width.theory import detection_at_coverage
from published import derived


def test_independent_route_koopmans_forms() -> None:
    # Four printed digits.
    table = derived("detection_coverage")
    for kind, values in {"definite": [1.0, 1.0], **table}.items():
        got = [detection_at_coverage(c, kind.replace("_", " ")) for c in (1.0, 2.0)]
        np.testing.assert_allclose(got, values, atol=5e-5)


def test_independent_route_inverse_cube_by_summing_over_all_lanes() -> None:
    # A lookout whose chance falls as the cube of the distance: exp(-sum over lanes k / x^2), averaged
    # over the place between two lanes; sweep width 2 sqrt(pi k). Lanes at 1, so C = 2 sqrt(pi k).
    for coverage in (0.5, 1.0, 1.7):
        k = coverage**2 / (4 * np.pi)
        x = (np.arange(2000) + 0.5) / 2000
        lanes = np.arange(-4000, 4001)
        missed = np.exp(-k * np.sum(1.0 / (x[:, None] - lanes) ** 2, axis=1))
        assert detection_at_coverage(coverage, "inverse cube") == pytest.approx(1 - missed.mean(), abs=2e-4)


@pytest.mark.parametrize("width_m", [15.0, 40.0, 60.0, 90.0])
def test_property_our_lanes_lie_between_random_search_and_a_definite_range(width_m: float) -> None:
    pair = Pair(receiver=Receiver(coaxial_range_m=45.0), transmitter=Transmitter())
    curve = lateral_curve(pair)
    mean = chance_at_width(pair, width_m, curve).mean_probability
    coverage = sweep_width_m(curve) / width_m
    assert detection_at_coverage(coverage, "random") <= mean
    assert mean <= detection_at_coverage(coverage, "definite") + 1e-3


@pytest.mark.parametrize("coverage", [-0.1, float("nan"), float("inf")])
def test_contract_a_coverage_that_cannot_be_is_refused(coverage: float) -> None:
    with pytest.raises(OutOfModel):
        detection_at_coverage(coverage, "random")
