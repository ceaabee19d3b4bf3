from __future__ import annotations

import numpy as np
from hypothesis import example, given
from hypothesis import strategies as st

from amount import examples
from coldfield.beacon.hearing import sources_of
from coldfield.debrief.hearing.places import hear_at
from coldfield.drill.searcher import Receiver
from coldfield.drill.terrain import Plane
from made_walks import burial


@given(
    seed=st.integers(0, 10_000),
    antennas=st.integers(1, 3),
    slope=st.floats(0.0, 0.7),
    above=st.sampled_from([None, 0.1, 1.0]),
)
# Places beside a silent zone, where the set becomes inaudible as it is lowered and no height fits its
# reading.
@example(seed=2799, antennas=1, slope=0.7, above=None)
@example(seed=2934, antennas=1, slope=0.7, above=None)
@examples(40)
def test_independent_route_compiled_loop_and_array_functions_agree(
    seed: int, antennas: int, slope: float, above: float | None
) -> None:
    rng = np.random.default_rng(seed)
    terrain = Plane(slope_rad=slope, aspect_rad=rng.uniform(0, 6))
    burials = [
        burial(
            name, tuple(rng.uniform(0, 60, 2)), azimuth_deg=rng.uniform(0, 360), tilt_deg=rng.uniform(-80, 80)
        )
        for name in "AB"
    ]
    receiver = Receiver(coaxial_range_m=40.0, antennas=antennas, antenna_factors=(1.0, 1.0, 3.0)[:antennas])
    places, headings = rng.uniform(-20, 80, (5, 40, 2)), rng.uniform(0, 6.2, (5, 40))
    loop, arrays = (
        hear_at(
            sources_of(burials, terrain),
            receiver,
            terrain,
            places,
            heading_rad=headings,
            above_m=above,
            large=n,
        )
        for n in (0, 10**9)
    )
    # The carry height is solved to 1e-6 m by both; a reading follows it one to one at most.
    np.testing.assert_allclose(loop.raw_reading_m, arrays.raw_reading_m, atol=1e-5)
    np.testing.assert_array_equal(loop.audible, arrays.audible)
    np.testing.assert_allclose(
        np.exp(2j * loop.direction_rad), np.exp(2j * arrays.direction_rad), atol=1e-5, equal_nan=True
    )
