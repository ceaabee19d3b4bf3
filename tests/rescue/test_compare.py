"""Compare a change run by run, with a correct standard error."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from coldfield.rescue.compare import difference
from coldfield.rescue.rehearsal import MOMENTS, Rehearsal
from coldfield.survival.curves import DEFAULT

RUNS = 400
HORIZON_S = 3600.0


def made(airway_s: np.ndarray, burials: tuple[str, ...], seed: int = 1) -> Rehearsal:
    """Return a rehearsal with given airways; nothing else matters here."""
    moments = np.full((*airway_s.shape, len(MOMENTS)), np.nan)
    moments[:, :, MOMENTS.index("airway")] = airway_s
    return Rehearsal(
        seed=seed,
        first_run=0,
        last_run=len(airway_s),
        burials=burials,
        burial_to_alarm_s=60.0,
        moments_s=moments,
        failure=np.where(np.isnan(airway_s), 0, -1),
        finder=np.zeros(airway_s.shape, np.int64),
    )


@pytest.fixture
def airway_s() -> np.ndarray:
    return np.random.Generator(np.random.Philox(7)).normal(600.0, 120.0, (RUNS, 2))


def test_independent_route_the_error_is_that_of_the_paired_difference(airway_s: np.ndarray) -> None:
    rng = np.random.Generator(np.random.Philox(8))
    later_s = airway_s + rng.normal(30.0, 6.0, airway_s.shape)
    gap = difference(made(airway_s, ("A", "B")), made(later_s, ("A", "B")), horizon_s=HORIZON_S)
    first = gap.burials[0].minutes
    assert first.mean == pytest.approx(0.5, abs=4 * first.standard_error)
    # Closed form: 6 s of scatter over the root of 400 runs, in minutes; a tenth for the sample.
    assert first.standard_error == pytest.approx(0.1 / np.sqrt(RUNS), rel=0.1)
    curve = DEFAULT.survival(later_s + 60.0) - DEFAULT.survival(airway_s + 60.0)
    assert gap.survivors.mean == pytest.approx(curve.sum(axis=1).mean())


def test_property_nothing_changed_is_a_difference_of_nothing(airway_s: np.ndarray) -> None:
    same = made(airway_s, ("A", "B"))
    gap = difference(same, same, horizon_s=HORIZON_S)
    for one in (gap.last_minutes, gap.survivors, *(b.found_fraction for b in gap.burials)):
        assert (one.mean, one.standard_error) == (0.0, 0.0)


def test_contract_burials_are_matched_by_name_and_unfound_ones_count_to_the_horizon(
    airway_s: np.ndarray,
) -> None:
    before = made(airway_s, ("A", "B"))
    gone = np.column_stack([np.full(RUNS, np.nan), airway_s[:, 1]])
    gap = difference(before, made(gone, ("C", "B")), horizon_s=HORIZON_S)
    assert [b.id for b in gap.burials] == ["B"]
    assert (gap.only_before, gap.only_after) == (("A",), ("C",))
    assert gap.burials[0].minutes.mean == 0.0
    assert gap.last_minutes.mean == pytest.approx((3600.0 - airway_s.max(axis=1)).mean() / 60.0)


def test_contract_other_draws_cannot_be_set_beside(airway_s: np.ndarray) -> None:
    before = made(airway_s, ("A", "B"))
    with pytest.raises(ValueError, match="same runs"):
        difference(before, replace(before, seed=2), horizon_s=HORIZON_S)
