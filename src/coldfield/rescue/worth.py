"""What helps most: survivors and minutes gained by each change, with common random numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.drill import Drill, Searcher, Skill
from coldfield.message import Message, message, number
from coldfield.rescue.rehearsal import Rehearsal
from coldfield.rescue.settings import Settings

FASTER = 0.8
"""'20 % faster' multiplies each time of a phase by 0.8 and divides each speed by 0.8."""

LONG_PROBE_M = 3.2
"""A longer probe. Setting; lengths on sale range from about 2 to over 3 m (common practice)."""

BEYOND = 2.0
"""A change counts beyond this number of standard errors of the simulation. Common practice."""

SAME_SIGN = 0.8
"""A change counts if its sign is the same in at least this share of the draws of the constants. Setting."""

DRAWS = 40
"""Number of draws of the constants that show how often a change helps. Setting."""

WIDER = 1.2
"""'Wider' strips are multiplied and 'narrower' ones divided by 1.2. Setting."""

WIDER_STRIPS, NARROWER_STRIPS = message("change.wider_strips"), message("change.narrower_strips")
"""Two changes that cannot both help."""

_PHASES: tuple[tuple[Message, tuple[str, ...], tuple[str, ...]], ...] = (
    (message("change.signal_faster"), ("signal_speed_m_s",), ("reaction_s",)),
    (message("change.coarse_faster"), ("coarse_speed_m_s", "near_speed_m_s"), ("turn_s",)),
    (message("change.fine_faster"), ("fine_speed_m_s",), ()),
    (message("change.probing_faster"), (), ("probe_ready_s", "probe_hole_s")),
    (message("change.digging_faster"), ("dig_rate_kg_s",), ("shovel_ready_s",)),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that could be different; `width_factor` and `replan` say whether lanes change."""

    name: Message
    drill: Drill
    settings: Settings
    width_factor: float = 1.0
    replan: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """The gain from a change per run, each with one standard error. Above 0: better, sooner.

    Minutes are those to the airway, averaged over the burials; a burial not found, or freed after the
    horizon, counts as freed at the horizon.
    `helps_share` is the share of draws of the constants in which the change saves minutes; None if the
    constants were not drawn. `counts`: the minutes exceed `BEYOND` standard errors, and their sign is the
    same in at least `SAME_SIGN` of the draws. A change that does not count must not be shown as a help.
    """

    change: Message
    gain_survivors: float
    standard_error: float
    gain_minutes: float
    minutes_standard_error: float
    helps_share: float | None
    counts: bool


def changes(drill: Drill, settings: Settings) -> list[Change]:
    """Return the changes that make sense for a drill: phases, gear, people, strips, habits.

    Examples
    --------
    A shovel is offered only where somebody lacks one.
    """
    found = [
        Change(name=name, drill=_everyone(drill, _quicker(speeds, times)), settings=settings)
        for name, speeds, times in _PHASES
    ]
    found += _gear(drill, settings)
    found.append(
        Change(
            name=message("change.one_more_searcher"), drill=_one_more(drill), settings=settings, replan=True
        )
    )
    found.append(Change(name=WIDER_STRIPS, drill=drill, settings=settings, width_factor=WIDER, replan=True))
    found.append(
        Change(
            name=NARROWER_STRIPS,
            drill=drill,
            settings=settings,
            width_factor=1.0 / WIDER,
            replan=True,
        )
    )
    return found + _habits(drill, settings)


def _gear(drill: Drill, settings: Settings) -> list[Change]:
    found = []
    for k, searcher in enumerate(drill.searchers):
        if not searcher.shovel:
            people = list(drill.searchers)
            people[k] = replace(searcher, shovel=True)
            made = replace(drill, searchers=tuple(people))
            found.append(Change(name=message("change.one_more_shovel"), drill=made, settings=settings))
            break
    if any((s.probe_length_m or 0.0) < LONG_PROBE_M for s in drill.searchers):

        def longer(searcher: Searcher) -> Searcher:
            return replace(searcher, probe_length_m=max(searcher.probe_length_m or 0.0, LONG_PROBE_M))

        name = message("change.longer_probe", length=number(LONG_PROBE_M))
        found.append(Change(name=name, drill=_people(drill, longer), settings=settings))
    return found


def _habits(drill: Drill, settings: Settings) -> list[Change]:
    def marks(searcher: Searcher) -> Searcher:
        skill = replace(searcher.skill, marking_fraction=1.0)
        return replace(searcher, skill=skill, receiver=replace(searcher.receiver, marking=1.0))

    off = _everyone(drill, lambda skill: replace(skill, left_on_fraction=0.0))
    one = replace(settings, searchers_per_missing_set=1)
    stays = replace(settings, finder_digs=not settings.finder_digs)
    found = [
        Change(name=message("change.every_set_marked"), drill=_people(drill, marks), settings=settings),
        Change(name=message("change.sets_off_by_hand"), drill=off, settings=settings),
        Change(name=message("change.one_per_missing_set"), drill=drill, settings=one),
    ]
    go_on, dig = message("change.finders_go_on"), message("change.finder_digs")
    name = go_on if settings.finder_digs else dig
    return [*found, Change(name=name, drill=drill, settings=stays)] if len(drill.searchers) > 1 else found[:2]


def _people(drill: Drill, change: Callable[[Searcher], Searcher]) -> Drill:
    return replace(drill, searchers=tuple(change(s) for s in drill.searchers))


def _everyone(drill: Drill, change: Callable[[Skill], Skill]) -> Drill:
    return _people(drill, lambda s: replace(s, skill=change(s.skill)))


def _quicker(speeds: tuple[str, ...], times: tuple[str, ...]) -> Callable[[Skill], Skill]:
    def change(skill: Skill) -> Skill:
        faster = {name: getattr(skill, name) / FASTER for name in speeds}
        shorter = {name: getattr(skill, name) * FASTER for name in times}
        return replace(skill, **faster, **shorter)

    return change


def _one_more(drill: Drill) -> Drill:
    taken = {s.id for s in drill.searchers}
    name = next(n for n in (f"extra-{k}" for k in range(1, 1000)) if n not in taken)
    return replace(drill, searchers=(*drill.searchers, replace(drill.searchers[-1], id=name, name=name)))


def worth_of(
    change: Message,
    before: Rehearsal,
    after: Rehearsal,
    *,
    horizon_s: float,
    drawn: tuple[Rehearsal, Rehearsal] | None = None,
    block_runs: int = 1,
) -> Worth:
    """Compare two rehearsals of the same runs and seed, run by run.

    Parameters
    ----------
    before, after : Rehearsal
        Rehearsals with the constants at their medians.
    horizon_s : float
        A burial that is not found, or freed later, counts as freed at this time, s.
    drawn : pair of Rehearsal, optional
        Before and after with the constants drawn too, again for each `block_runs` runs.

    Raises
    ------
    ValueError
        If they did not play the same runs with the same seed.
    """
    alive = after.survival().sum(axis=1) - before.survival().sum(axis=1)
    sooner = _sooner(before, after, horizon_s)
    gain, error = float(sooner.mean()), _standard_error(sooner)
    helps = None
    if drawn is not None:
        each = _sooner(*drawn, horizon_s)
        helps = float(np.mean([part.mean() > 0.0 for part in _blocks(each, block_runs)]))
    counts = abs(gain) > BEYOND * error
    if helps is not None:
        counts = counts and (helps if gain > 0.0 else 1.0 - helps) >= SAME_SIGN
    return Worth(
        change=change,
        gain_survivors=float(alive.mean()),
        standard_error=_standard_error(alive),
        gain_minutes=gain,
        minutes_standard_error=error,
        helps_share=helps,
        counts=counts,
    )


def _sooner(before: Rehearsal, after: Rehearsal, horizon_s: float) -> NDArray[np.float64]:
    """Return the minutes saved in each run, averaged over the burials."""
    same = (before.seed, before.first_run, before.last_run) == (after.seed, after.first_run, after.last_run)
    if not same:
        raise ValueError("worth needs the same runs of the same seed before and after the change")
    return np.asarray((_minutes(before, horizon_s) - _minutes(after, horizon_s)).mean(axis=1))


def _blocks(values: NDArray[np.float64], size: int) -> list[NDArray[np.float64]]:
    return [values[k : k + size] for k in range(0, len(values), size)]


def _minutes(rehearsal: Rehearsal, horizon_s: float) -> NDArray[np.float64]:
    airway = rehearsal.column("airway")
    return np.minimum(np.where(np.isnan(airway), horizon_s, airway), horizon_s) / 60.0


def _standard_error(values: NDArray[np.float64]) -> float:
    return float(np.std(values, ddof=1) / np.sqrt(len(values))) if len(values) > 1 else 0.0


def sorted_worth(worth: Sequence[Worth]) -> tuple[Worth, ...]:
    """Return what helps most first; with equal survivors more minutes come first, then the code decides.

    Of wider and narrower strips, at most the better one counts as a help.
    """
    ordered = sorted(worth, key=lambda w: (-w.gain_survivors, -w.gain_minutes, w.change.code))
    strips = [w for w in ordered if w.change in (WIDER_STRIPS, NARROWER_STRIPS)]
    helping = [w for w in strips if w.counts and w.gain_minutes > 0.0]
    less = min(helping, key=lambda w: w.gain_minutes) if len(helping) > 1 else None
    return tuple(replace(w, counts=False) if w is less else w for w in ordered)
