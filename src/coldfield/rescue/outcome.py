"""The results of a rehearsal: bands of times, who is found and who survives, and example runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.rescue.played import NOT_FOUND
from coldfield.rescue.rehearsal import Rehearsal
from coldfield.survival.curves import CURVES


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """How a time spreads over all runs: eight of ten from `p10` to `p90`, nine of ten by `p90`.

    A run that never got there counts as later than every other one. A quantile is therefore None if more
    runs fail than lie above it. `mean` is None if any run failed.
    """

    p10: float | None
    p50: float | None
    p90: float | None
    mean: float | None


def band_of(values: NDArray[np.float64]) -> Band:
    """Return the band of values (n,); inf counts as later than everything, nan is left out.

    Examples
    --------
    >>> band_of(np.array([60.0, 90.0, np.nan, 120.0])).p50
    90.0
    >>> band_of(np.array([60.0, 90.0, np.inf, np.inf])).p90 is None
    True
    """
    known = np.sort(values[~np.isnan(values)])
    p10, p50, p90 = (quantile(known, share) for share in (0.1, 0.5, 0.9))
    late = known.size == 0 or bool(np.isinf(known[-1]))
    return Band(p10=p10, p50=p50, p90=p90, mean=None if late else float(np.mean(known)))


def quantile(ordered: NDArray[np.float64], share: float) -> float | None:
    """Return a quantile of sorted values (n,), interpolated linearly; None if it is inf or there are none.

    Examples
    --------
    >>> quantile(np.array([1.0, 2.0, np.inf]), 0.5), quantile(np.array([1.0, 2.0, np.inf]), 0.75)
    (2.0, None)
    """
    if ordered.size == 0:
        return None
    place = share * (ordered.size - 1)
    k = min(int(place), ordered.size - 2) if ordered.size > 1 else 0
    low = float(ordered[k])
    if place == k:
        return low if np.isfinite(low) else None
    high = float(ordered[k + 1])
    return low + (high - low) * (place - k) if np.isfinite(high) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class BurialOutcome:
    """What a rehearsal says about one burial.

    `seconds` has a band for each phase and one for the airway since the alarm, over all runs; in a
    run that did not find the burial no phase ended. A burial struck by a probe line has no coarse
    and no fine search; such runs are left out of these two. `not_found` maps each reason to its
    share of all runs. `survival` is by the default curve over all runs; `survival_by_curve` shows
    the effect of the choice of curve.
    """

    id: str
    found_fraction: float
    seconds: dict[str, Band]
    not_found: dict[str, float]
    survival: float
    survival_by_curve: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a rehearsal says as a whole; expected survivors by the default curve and by each curve."""

    runs: int
    burials: tuple[BurialOutcome, ...]
    expected_survivors: float
    standard_error: float
    expected_by_curve: dict[str, float]


def outcome(rehearsal: Rehearsal) -> Outcome:
    """Summarise a rehearsal, always in the order of the runs."""
    durations = {**rehearsal.durations_s(), "airway": rehearsal.column("airway")}
    durations = {phase: rehearsal.or_never(values) for phase, values in durations.items()}
    alive = rehearsal.survival()
    by_curve = {name: rehearsal.survival(curve) for name, curve in CURVES.items()}
    burials = []
    for j, name in enumerate(rehearsal.burials):
        seconds = {phase: band_of(values[:, j]) for phase, values in durations.items()}
        failure = rehearsal.failure[:, j]
        reasons = {
            reason: float(np.mean(failure == k)) for k, reason in enumerate(NOT_FOUND) if (failure == k).any()
        }
        burials.append(
            BurialOutcome(
                id=name,
                found_fraction=float(np.mean(failure < 0)),
                seconds=seconds,
                not_found=reasons,
                survival=float(np.mean(alive[:, j])),
                survival_by_curve={c: float(np.mean(v[:, j])) for c, v in by_curve.items()},
            )
        )
    total = alive.sum(axis=1)
    spread = float(np.std(total, ddof=1)) if len(total) > 1 else 0.0
    return Outcome(
        runs=rehearsal.runs,
        burials=tuple(burials),
        expected_survivors=float(np.mean(total)),
        standard_error=spread / float(np.sqrt(len(total))),
        expected_by_curve={c: float(np.mean(v.sum(axis=1))) for c, v in by_curve.items()},
    )


def telling_runs(rehearsal: Rehearsal) -> dict[str, int]:
    """Return the numbers of a fast, a median, a slow and a failed run, if there are such runs.

    Fast, median and slow are the runs at a tenth, half and nine tenths of those that found
    everybody, by the last airway. A failed run is one that did not find somebody.
    """
    last = np.max(rehearsal.column("airway"), axis=1)
    found = np.flatnonzero(~np.isnan(last))
    runs: dict[str, int] = {}
    if found.size:
        order = found[np.argsort(last[found], kind="stable")]
        for words, share in (("a fast run", 0.1), ("a median run", 0.5), ("a slow run", 0.9)):
            runs[words] = rehearsal.first_run + int(order[round(share * (len(order) - 1))])
    failed = np.flatnonzero(np.isnan(last))
    if failed.size:
        runs["a failed run"] = rehearsal.first_run + int(failed[0])
    return runs
