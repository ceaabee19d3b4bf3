import numpy as np
import pytest

from coldfield.search.pace import greatest_speed_factor, speed_factor, tobler_speed_m_s
from published import published


def test_published_tobler_speeds() -> None:
    # The formula's own figures are not used: km/h on the level and at the fastest grade as printed.
    # Tolerance: half the last printed digit.
    table = published("walking_speed")
    level, fastest = 3.6 * tobler_speed_m_s([0.0, np.tan(np.radians(-2.86))])
    assert level == pytest.approx(table["level"], abs=0.05)
    assert fastest == pytest.approx(table["fastest"], abs=0.005)


def test_property_the_greatest_factor_is_that_of_the_best_direction() -> None:
    for slope in np.radians([0.0, 1.0, 2.86, 20.0, 45.0]):
        rises = np.tan(slope) * np.cos(np.linspace(0, 2 * np.pi, 200001))  # 1e-4 of the way round
        assert greatest_speed_factor(slope) == pytest.approx(float(speed_factor(rises).max()), rel=1e-4)
