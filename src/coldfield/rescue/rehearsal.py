"""Many runs of one drill: the moments of every burial in every run, and their summary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coldfield.drill import Drill, Searcher
from coldfield.errors import BadInput
from coldfield.message import message
from coldfield.rescue.anywhere import Anywhere
from coldfield.rescue.lanes_like import LanesLike
from coldfield.rescue.played import PHASES, BurialTimes
from coldfield.rescue.player.play import play
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.survival.curves import DEFAULT, Curve

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
    """Runs of a drill, from `first_run` up to but not including `last_run`.

    Attributes
    ----------
    moments_s : ndarray, shape (runs, burials, 7)
        Times since the alarm, s, in the order of `MOMENTS`; nan if the run did not get that far.
    failure : ndarray of int, shape (runs, burials)
        Index into `NOT_FOUND`, -1 if a probe struck.
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
        """The number of runs."""
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
        """Return times of shape (runs, burials) with inf for every burial that a run did not find."""
        return np.where(self.failure >= 0, np.inf, seconds)

    def survival(self, curve: Curve = DEFAULT) -> NDArray[np.float64]:
        """Return the chance of survival of each burial in each run, shape (runs, burials).

        A burial that is not found counts as 0: what an organised rescue may still do is not modelled.
        """
        airway = self.column("airway")
        found = ~np.isnan(airway)
        alive = curve.survival(np.where(found, airway, 0.0) + self.burial_to_alarm_s)
        return np.where(found, alive, 0.0)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Scene:
    """What is played: everything except the numbers of the runs.

    Attributes
    ----------
    drill : Drill
        At least one burial and one searcher.
    lanes, second : LanePlan
        Lanes of the first pass, and of a second one (optional).
    seed : int
        The key of the draws, together with a run's number. A run is always the same, wherever and
        with whichever other runs it is computed.
    settings : Settings
        The constants of the model.
    anywhere : bool
        True: the burials lie in other places in each run, see `coldfield.rescue.anywhere`.
    """

    drill: Drill
    lanes: LanesLike
    seed: int
    second: LanesLike | None = None
    settings: Settings = SETTINGS
    anywhere: bool = False

    def prepared(self) -> object:
        """Return the scene in the form for the compiled program, for many calls of `rehearse`."""
        return prepare(self.drill, self.lanes, second=self.second, settings=self.settings)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Moved:
    """People and settings of a run that has its own constants.

    `searchers` differ from those of the scene only in their skills. `prepared` is the form of both for the
    compiled program, made by `moved`.
    """

    searchers: tuple[Searcher, ...]
    settings: Settings
    prepared: object | None


def rehearse(
    scene: Scene,
    *,
    first_run: int,
    last_run: int,
    compiled: bool = True,
    prepared: object | None = None,
    each: Sequence[Moved] = (),
) -> Rehearsal:
    """Play runs of a scene, from `first_run` up to but not including `last_run`.

    Parameters
    ----------
    scene : Scene
        What is played.
    compiled : bool
        False: use the plain player, which is a hundred times slower but needs no compiler.
    prepared : object, optional
        The result of `Scene.prepared` for the same drill, lanes and settings, to save repeating it.
    each : sequence of Moved, optional
        One for each run, with its people and settings in place of those of the scene.

    Raises
    ------
    BadInput
        If there is no burial, no searcher or no run, or a figure that nobody could use.
    """
    drill, seed = scene.drill, scene.seed
    if not drill.burials:
        raise BadInput(message("fault.rehearsal_needs_one").at("burials"))
    if not 0 <= first_run < last_run:
        raise BadInput(message("fault.rehearsal_needs_run").at("runs"))
    runs = range(first_run, last_run)
    drills = [drill]
    if scene.anywhere:
        ground = Anywhere(drill.site)
        drills = [ground.drill(drill, seed=seed, run=run) for run in runs]
    if compiled:
        ready = prepared or replace(scene, drill=drills[0]).prepared()
        moments, failure, finder = _compiled(scene, ready, drills, runs, each)
    else:
        moments, failure, finder = _plain(scene, drills, runs, each)
    # Round to the microsecond, so that both programs print the same digits.
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


def _plain(scene: Scene, drills: list[Drill], runs: range, each: Sequence[Moved]) -> _Arrays:
    index = {s.id: k for k, s in enumerate(drills[0].searchers)}
    again = partial(play, lanes=scene.lanes, second=scene.second, seed=scene.seed)
    played = []
    for k, run in enumerate(runs):
        drill, settings = drills[k % len(drills)], scene.settings
        if each:
            drill, settings = replace(drill, searchers=each[k].searchers), each[k].settings
        played.append(again(drill, run=run, settings=settings))
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
    """Return a drill in the form for the compiled program, for many calls of `rehearse`."""
    from coldfield.rescue.kernel.runs import packed

    return packed(drill, lanes, second, settings)


def prepared_again(prepared: object, drill: Drill, *, settings: Settings) -> object:
    """Return the result of `prepare` for the same drill with other skills and settings."""
    from coldfield.rescue.kernel.layout import Fixed
    from coldfield.rescue.kernel.runs import with_constants

    assert isinstance(prepared, Fixed)
    return with_constants(prepared, drill, settings)


def moved(prepared: object | None, drill: Drill, settings: Settings) -> Moved:
    """Return the people of a drill and settings, for the compiled program if the scene is `prepared`."""
    again = None if prepared is None else prepared_again(prepared, drill, settings=settings)
    return Moved(searchers=drill.searchers, settings=settings, prepared=again)


def _compiled(
    scene: Scene, prepared: object, drills: list[Drill], runs: range, each: Sequence[Moved]
) -> _Arrays:
    from coldfield.rescue.kernel.layout import Fixed
    from coldfield.rescue.kernel.runs import play_runs, with_burials, with_dug

    assert isinstance(prepared, Fixed)
    fixed = (
        [with_burials(prepared, drill, scene.settings) for drill in drills] if scene.anywhere else [prepared]
    )
    rows = []
    for k, own in enumerate(each):
        assert isinstance(own.prepared, Fixed)
        laid = with_dug(fixed[k % len(fixed)], scene.drill, own.settings)
        rows.append(own.prepared._replace(laid=laid))
    told = {"seed": scene.seed, "first_run": runs.start, "last_run": runs.stop}
    played = play_runs(prepared, **told, each=rows or fixed)
    return played.moments_s, played.failure, played.finder


def joined(parts: Sequence[Rehearsal]) -> Rehearsal:
    """Return one rehearsal of parts that follow each other.

    Raises
    ------
    ValueError
        If a part does not begin where the previous one ends, or has another seed.
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
