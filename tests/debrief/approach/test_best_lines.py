from __future__ import annotations

import numpy as np
import pytest

from coldfield.beacon.fluxline import walked_flux_line
from coldfield.beacon.hearing import sources_of
from coldfield.debrief.approach.best_lines import best_line
from coldfield.drill import Receiver
from coldfield.drill.terrain import Plane
from made_walks import burial

RECEIVER = Receiver(coaxial_range_m=45.0)


def test_independent_route_lengths_are_those_of_the_error_controlled_walk() -> None:
    # The Dormand-Prince walk of coldfield.beacon.fluxline; the midpoint rule at 0.5 m stays within 1 %.
    rng = np.random.default_rng(11)
    compared = 0
    for _ in range(14):
        one = burial(
            azimuth_deg=rng.uniform(0, 360), tilt_deg=rng.uniform(-45, 45), depth_m=rng.uniform(0.3, 1.5)
        )
        terrain = Plane(slope_rad=np.radians(rng.uniform(0, 30)), aspect_rad=rng.uniform(0, 6))
        start = np.array(one.position_m) + rng.uniform(-25, 25, 2)
        sources = sources_of([one], terrain)
        theirs = walked_flux_line(sources, 0, terrain, start, RECEIVER)
        ours = best_line(sources, 0, terrain, start, RECEIVER)
        if theirs.ended != "reading of 3 m":
            continue
        assert ours is not None
        assert ours.length_m == pytest.approx(theirs.length_m, rel=0.01)
        np.testing.assert_allclose(ours.line_m[-1], theirs.line_m[-1], atol=0.3)
        compared += 1
    assert compared >= 8


def test_regression_a_line_that_starts_beside_the_set_has_finite_places() -> None:
    sources = sources_of([burial()], Plane())
    line = best_line(sources, 0, Plane(), (24.0, 42.5), RECEIVER)
    assert line is None or np.isfinite(line.line_m).all()


def test_contract_where_nothing_is_heard_there_is_no_line() -> None:
    sources = sources_of([burial()], Plane())
    assert best_line(sources, 0, Plane(), (22.0, 241.0), RECEIVER) is None
