"""Compare two rehearsals with the same draws: the effect of a change, and its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.rescue.rehearsal import Rehearsal


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanChange:
    """After minus before, averaged over the runs, and its standard error."""

    mean: float
    standard_error: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BurialDifference:
    """The effect of a change on one burial, in minutes to the airway: below 0 is sooner."""

    id: str
    minutes: MeanChange
    found_fraction: MeanChange
    survival: MeanChange


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """The effect of a change, taken run by run; burials that only one of the two has are named."""

    burials: tuple[BurialDifference, ...]
    last_minutes: MeanChange
    survivors: MeanChange
    only_before: tuple[str, ...]
    only_after: tuple[str, ...]


def difference(before: Rehearsal, after: Rehearsal, *, horizon_s: float) -> Difference:
    """Compare two rehearsals of the same runs and seed, run by run.

    Parameters
    ----------
    before, after : Rehearsal
        Rehearsals of two drills; burials are matched by their ids.
    horizon_s : float
        A burial that is not found, or freed later, counts as freed at this time, s.

    Raises
    ------
    ValueError
        If the two did not play the same runs with the same seed.

    Notes
    -----
    The same draws are used before and after (common random numbers). The standard error is that of
    the difference itself and usually well below that of either mean. If burials or searchers are in
    another order, or if their number has changed, the draws no longer match; the error is then larger,
    but still correct.
    """
    same = (before.seed, before.first_run, before.last_run) == (after.seed, after.first_run, after.last_run)
    if not same:
        raise ValueError("a difference needs the same runs of the same seed before and after")
    old, new = before.burials, after.burials
    minutes = (_minutes(before, horizon_s), _minutes(after, horizon_s))
    alive = (before.survival(), after.survival())
    struck = ((before.failure < 0) * 1.0, (after.failure < 0) * 1.0)
    burials = []
    for name in [b for b in old if b in new]:
        i, j = old.index(name), new.index(name)
        burials.append(
            BurialDifference(
                id=name,
                minutes=_mean_change(minutes[1][:, j] - minutes[0][:, i]),
                found_fraction=_mean_change(struck[1][:, j] - struck[0][:, i]),
                survival=_mean_change(alive[1][:, j] - alive[0][:, i]),
            )
        )
    return Difference(
        burials=tuple(burials),
        last_minutes=_mean_change(minutes[1].max(axis=1) - minutes[0].max(axis=1)),
        survivors=_mean_change(alive[1].sum(axis=1) - alive[0].sum(axis=1)),
        only_before=tuple(b for b in old if b not in new),
        only_after=tuple(b for b in new if b not in old),
    )


def _minutes(rehearsal: Rehearsal, horizon_s: float) -> NDArray[np.float64]:
    airway = rehearsal.column("airway")
    return np.minimum(np.where(np.isnan(airway), horizon_s, airway), horizon_s) / 60.0


def _mean_change(values: NDArray[np.float64]) -> MeanChange:
    runs = len(values)
    error = float(np.std(values, ddof=1) / np.sqrt(runs)) if runs > 1 else 0.0
    return MeanChange(mean=float(values.mean()), standard_error=error)
