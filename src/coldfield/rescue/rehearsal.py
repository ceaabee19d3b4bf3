"""Many runs of one drill: the moments of every burial in every run, and what they amount to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coldfield.drill import Drill
from coldfield.errors import BadInput
from coldfield.message import message
from coldfield.rescue.anywhere import Anywhere
from coldfield.rescue.lanes_like import LanesLike
from coldfield.rescue.played import NOT_FOUND, PHASES, BurialTimes
from coldfield.rescue.player.play import play
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.survival.curves import CURVES, DEFAULT, Curve

MOMENTS: tuple[str, ...] = (
    "first_signal",
    "turn",
    "within_10_m",
    "fine_start",
    "lowest_reading",
    "probe_strike",
    "airway",
)
"""The columns of `Rehearsal.moments_s`."""

_FIELDS = ("first_signal_s", "turn_s", "within_10_m_s", "fine_start_s", "lowest_reading_s")
MOMENT_FIELDS: tuple[str, ...] = (*_FIELDS, "probe_strike_s", "airway_s")
"""The same moments as the fields of `BurialTimes`."""

assert {f.name for f in fields(BurialTimes)} >= set(MOMENT_FIELDS)


@dataclass(frozen=True, eq=False, kw_only=True)
class Rehearsal:
    """Runs `first_run` up to, not with, `last_run` of a drill.

    Attributes
    ----------
    moments_s : ndarray, shape (runs, burials, 7)
        s since the alarm, in the order of `MOMENTS`; nan where it did not come to that.
    failure : ndarray of int, shape (runs, burials)
        Index into `NOT_FOUND`, -1 where a probe struck.
    finder : ndarray of int, shape (runs, burials)
        Index of the searcher who struck, -1 for nobody.
    """

    seed: int
    first_run: int
    last_run: int
    burials: tuple[str, ...]
    burial_to_alarm_s: float
    moments_s: NDArray[np.float64]
    failure: NDArray[np.int64]
    finder: NDArray[np.int64]

    @property
    def runs(self) -> int:
        """How many runs."""
        return self.last_run - self.first_run

    def column(self, moment: str) -> NDArray[np.float64]:
        """Return one moment, shape (runs, burials)."""
        return self.moments_s[:, :, MOMENTS.index(moment)]

    def durations_s(self) -> dict[str, NDArray[np.float64]]:
        """Return how long each phase took, shape (runs, burials); see `BurialTimes.durations_s`."""
        turn, fine, lowest = (self.column(m) for m in ("turn", "fine_start", "lowest_reading"))
        strike, airway = self.column("probe_strike"), self.column("airway")
        lined = np.isnan(fine) & ~np.isnan(strike)
        found = ~np.isnan(strike)
        start = np.where(lined, turn, lowest)
        phases = (turn, fine - turn, lowest - fine, strike - start, airway - strike)
        return {name: np.where(found, value, np.nan) for name, value in zip(PHASES, phases, strict=True)}

    def or_never(self, seconds: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return times of shape (runs, burials) with inf for every burial that a run left unfound."""
        return np.where(self.failure >= 0, np.inf, seconds)

    def survival(self, curve: Curve = DEFAULT) -> NDArray[np.float64]:
        """Return the chance of survival of each burial in each run, shape (runs, burials).

        A burial not found counts as 0: what an organised rescue may still do is not modelled.
        """
        airway = self.column("airway")
        found = ~np.isnan(airway)
        alive = curve.survival(np.where(found, airway, 0.0) + self.burial_to_alarm_s)
        return np.where(found, alive, 0.0)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Scene:
    """What is played: everything but the numbers of the runs.

    Attributes
    ----------
    drill : Drill
        At least one burial and one searcher.
    lanes, second : LanePlan
        Lanes of the first pass, and of a second one (optional).
    seed : int
        Together with a run's number the key of its draws; the same run is the same wherever and in
        whatever company it is computed.
    settings : Settings
        The constants of the model.
    anywhere : bool
        True: the burials lie somewhere else in each run, see `coldfield.rescue.anywhere`.
    """

    drill: Drill
    lanes: LanesLike
    seed: int
    second: LanesLike | None = None
    settings: Settings = SETTINGS
    anywhere: bool = False

    def prepared(self) -> object:
        """Return the scene as the compiled program takes it, for many calls of `rehearse`."""
        return prepare(self.drill, self.lanes, second=self.second, settings=self.settings)


def rehearse(
    scene: Scene,
    *,
    first_run: int,
    last_run: int,
    compiled: bool = True,
    prepared: object | None = None,
    each: Sequence[object] = (),
) -> Rehearsal:
    """Play the runs `first_run` up to, not with, `last_run` of a scene.

    Parameters
    ----------
    scene : Scene
        What is played.
    compiled : bool
        False: the plain player, a hundred times slower, without a compiler to wait for.
    prepared : object, optional
        What `Scene.prepared` made of the same drill, lanes and settings: saves doing it for each part.
    each : sequence, optional
        The same for each run, with other skills and settings; for the compiled program, and not `anywhere`.

    Raises
    ------
    BadInput
        If there is no burial, no searcher or no run, or a figure that nobody could use.
    """
    drill, settings, seed = scene.drill, scene.settings, scene.seed
    if not drill.burials:
        raise BadInput(message("fault.rehearsal_needs_one").at("burials"))
    if not 0 <= first_run < last_run:
        raise BadInput(message("fault.rehearsal_needs_run").at("runs"))
    if scene.anywhere:
        ground = Anywhere(drill.site)
        drills = [ground.drill(drill, seed=seed, run=run) for run in range(first_run, last_run)]
    else:
        drills = [drill]
    if compiled:
        ready = prepared or replace(scene, drill=drills[0]).prepared()
        moments, failure, finder = _compiled(ready, drills, settings, seed, first_run, last_run, each)
    else:
        moments, failure, finder = _plain(scene, drills, first_run, last_run)
    # To the microsecond, so that both programs print the same digits.
    moments = np.round(moments, 6)
    return Rehearsal(
        seed=seed,
        first_run=first_run,
        last_run=last_run,
        burials=tuple(b.id for b in drill.burials),
        burial_to_alarm_s=drill.conditions.burial_to_alarm_s,
        moments_s=moments,
        failure=failure,
        finder=finder,
    )


_Arrays = tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]


def _plain(scene: Scene, drills: list[Drill], first: int, last: int) -> _Arrays:
    index = {s.id: k for k, s in enumerate(drills[0].searchers)}
    played = [
        play(
            drills[(run - first) % len(drills)],
            scene.lanes,
            seed=scene.seed,
            run=run,
            second=scene.second,
            settings=scene.settings,
        )
        for run in range(first, last)
    ]
    return (
        np.array([[[getattr(b, f) for f in MOMENT_FIELDS] for b in p.burials] for p in played]),
        np.array([[b.failure for b in p.burials] for p in played], dtype=np.int64),
        np.array(
            [[-1 if b.finder is None else index[b.finder] for b in p.burials] for p in played],
            dtype=np.int64,
        ),
    )


def prepare(
    drill: Drill, lanes: LanesLike, *, second: LanesLike | None = None, settings: Settings = SETTINGS
) -> object:
    """Return a drill as the compiled program takes it, for many calls of `rehearse`."""
    from coldfield.rescue.kernel.runs import packed

    return packed(drill, lanes, second, settings)


def prepared_again(prepared: object, drill: Drill, *, settings: Settings) -> object:
    """Return what `prepare` made for the same drill with other skills and other settings."""
    from coldfield.rescue.kernel.layout import Fixed
    from coldfield.rescue.kernel.runs import with_constants

    assert isinstance(prepared, Fixed)
    return with_constants(prepared, drill, settings)


def prepared_like(prepared: object, moved: object, drill: Drill, *, settings: Settings) -> object:
    """Return the same with the people and rules of `moved`, whose drill differs in its burials alone."""
    from coldfield.rescue.kernel.layout import Fixed
    from coldfield.rescue.kernel.runs import with_dug

    assert isinstance(prepared, Fixed)
    assert isinstance(moved, Fixed)
    laid = with_dug(prepared, drill, settings)
    return prepared._replace(who=moved.who, words=moved.words, rules=moved.rules, laid=laid)


def _compiled(
    prepared: object,
    drills: list[Drill],
    settings: Settings,
    seed: int,
    first: int,
    last: int,
    each: Sequence[object],
) -> _Arrays:
    from coldfield.rescue.kernel.layout import Fixed
    from coldfield.rescue.kernel.runs import play_runs, with_burials

    assert isinstance(prepared, Fixed)
    rows = [one for one in each if isinstance(one, Fixed)]
    assert len(rows) in (0, last - first)
    if len(drills) > 1:
        rows = [with_burials(prepared, made, settings) for made in drills]
    played = play_runs(prepared, seed=seed, first_run=first, last_run=last, each=rows)
    return played.moments_s, played.failure, played.finder


def joined(parts: Sequence[Rehearsal]) -> Rehearsal:
    """Return one rehearsal of parts that follow each other.

    Raises
    ------
    ValueError
        If a part does not begin where the one before it ends, or belongs to another seed.
    """
    first = parts[0]
    for before, after in pairwise(parts):
        if before.last_run != after.first_run or before.seed != after.seed:
            raise ValueError("parts of a rehearsal must follow each other")
    return Rehearsal(
        seed=first.seed,
        first_run=first.first_run,
        last_run=parts[-1].last_run,
        burials=first.burials,
        burial_to_alarm_s=first.burial_to_alarm_s,
        moments_s=np.concatenate([p.moments_s for p in parts]),
        failure=np.concatenate([p.failure for p in parts]),
        finder=np.concatenate([p.finder for p in parts]),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """How a time spreads over all runs: eight of ten from `p10` to `p90`, nine of ten by `p90`.

    A run that never got there counts as later than every other one, so a quantile is None where more
    runs fail than lie above it. `mean` is None where any run failed.
    """

    p10: float | None
    p50: float | None
    p90: float | None
    mean: float | None


def band_of(values: NDArray[np.float64]) -> Band:
    """Return the band of values (n,): inf counts as later than everything, nan is left out.

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
    """Return a quantile of sorted values (n,), linear between two of them; None where it is inf or nothing.

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

    `seconds` has a band per phase, and one of the airway since the alarm, over all runs: in one that
    did not find it no phase came to its end. A burial struck by a probe line has no coarse and no fine
    search; such runs are left out of these two.
    `not_found` maps each reason to its share of all runs. `survival` is by the default curve over
    all runs; `survival_by_curve` shows what the choice of curve does.
    """

    id: str
    found_fraction: float
    seconds: dict[str, Band]
    not_found: dict[str, float]
    survival: float
    survival_by_curve: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a rehearsal says as a whole; expected survivors by the default curve, and by each."""

    runs: int
    burials: tuple[BurialOutcome, ...]
    expected_survivors: float
    standard_error: float
    expected_by_curve: dict[str, float]


def outcome(rehearsal: Rehearsal) -> Outcome:
    """Sum a rehearsal up, always in the order of the runs."""
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
    """Return the numbers of a fast, a median, a slow and a failed run, as far as there are such.

    Fast, median and slow are the runs at a tenth, half and nine tenths of those that found
    everybody, by the last airway. A failed run is one that left somebody unfound.
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
