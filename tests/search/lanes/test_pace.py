import numpy as np
import pytest

from coldfield.search.lanes.pace import level_metres, tobler_speed_m_s
from published import from_memory


def test_from_memory_tobler_speeds() -> None:
    # The formula's own figures are not used: km/h on the level and at the fastest grade as printed.
    # Tolerance: half the last printed digit.
    table = from_memory("walking_speed")
    level, fastest = 3.6 * tobler_speed_m_s([0.0, np.tan(np.radians(-2.86))])
    assert level == pytest.approx(table["level"], abs=0.05)
    assert fastest == pytest.approx(table["fastest"], abs=0.005)


@pytest.mark.parametrize(("slope_deg", "sign"), [(10, 1), (20, 1), (35, 1), (35, -1), (20, -1)])
def test_independent_route_least_time_of_two_equal_legs_up_or_down_an_even_slope(slope_deg, sign) -> None:
    # Brute force: go up or down 50 m of snow along the fall line as two mirrored legs at an angle
    # to it, on the snow; the printed formula gives each leg's speed. 2e-5: step of the angle.
    slope = np.radians(slope_deg)
    angle = np.linspace(0.0, np.radians(89.0), 40001)
    sine = np.sin(slope) * np.cos(angle)
    grade = sign * sine / np.sqrt(1.0 - sine**2)
    speed_km_h = 6.0 * np.exp(-3.5 * np.abs(grade + 0.05))
    least_s = (50.0 / np.cos(angle) / (speed_km_h / 3.6)).min()
    metres = level_metres(50.0 * np.cos(slope), sign * 50.0 * np.sin(slope))
    assert float(metres / tobler_speed_m_s(0.0)) == pytest.approx(least_s, rel=2e-5)


def test_property_a_detour_never_saves_time_on_an_even_slope() -> None:
    # The time is a distance: by way of any other place it is no shorter, except where going along
    # at 5 % downhill beats the level (Tobler's kink); 2 % covers that.
    rng = np.random.default_rng(3)
    a, b = rng.normal(size=(2, 4000, 2))
    gradient = np.array([0.2, 0.5])

    def time(step):
        return level_metres(np.hypot(*step.T), step @ gradient)

    assert (time(a + b) <= 1.02 * (time(a) + time(b))).all()
