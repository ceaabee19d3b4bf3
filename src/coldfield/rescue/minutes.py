"""Where the minutes of a rehearsal go: share of each phase, airways free by the minute, all of them free."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.rescue.outcome import Band, band_of
from coldfield.rescue.played import PHASES
from coldfield.rescue.rehearsal import Rehearsal


@dataclass(frozen=True, slots=True, kw_only=True)
class AllClear:
    """When the last airway is free, over all runs, and the share of runs that found everybody."""

    seconds: Band
    fraction: float
    by_minute: tuple[float, ...]


def all_clear(rehearsal: Rehearsal, *, horizon_s: float) -> AllClear:
    """Return when every airway is free; a run that leaves somebody unfound never gets there."""
    last = np.max(rehearsal.column("airway"), axis=1)
    return AllClear(
        seconds=band_of(np.where(np.isnan(last), np.inf, last)),
        fraction=float(np.mean(~np.isnan(last))),
        by_minute=free_by_minute(last, horizon_s=horizon_s),
    )


def free_by_minute(airway_s: NDArray[np.float64], *, horizon_s: float) -> tuple[float, ...]:
    """Return the share of runs whose airway is free by each whole minute from 0 to the horizon.

    Parameters
    ----------
    airway_s : ndarray, shape (runs,)
        Times since the alarm, s; nan if the airway was never freed.
    horizon_s : float
        The last time, s.

    Examples
    --------
    >>> free_by_minute(np.array([50.0, 130.0, np.nan, 170.0]), horizon_s=180.0)
    (0.0, 0.25, 0.25, 0.75)
    """
    known = np.sort(airway_s[~np.isnan(airway_s)])
    minutes = 60.0 * np.arange(int(horizon_s // 60.0) + 1)
    shares = np.searchsorted(known, minutes, side="right") / len(airway_s)
    return tuple(np.round(shares, 4).tolist())


def phase_shares(rehearsal: Rehearsal) -> list[dict[str, float]]:
    """Return, for each burial, the share of the mean time to its airway that each phase takes.

    Only runs that found it are used. A phase that a run did not have counts as 0 (a probe line needs no
    coarse search). Empty for a burial that no run found.
    """
    durations = rehearsal.durations_s()
    shares = []
    for j in range(len(rehearsal.burials)):
        found = ~np.isnan(rehearsal.column("airway")[:, j])
        means = {phase: float(np.nansum(durations[phase][found, j])) for phase in PHASES}
        whole = sum(means.values())
        shares.append({phase: mean / whole for phase, mean in means.items()} if whole > 0.0 else {})
    return shares
