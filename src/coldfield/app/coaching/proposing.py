"""Propose drills: for given minutes, a little harder than the last one, or a ladder."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from coldfield.app.coaching.group_runs import GroupRuns
from coldfield.app.coaching.last_run import LastRun
from coldfield.app.coaching.own import own_for
from coldfield.app.jobs.stages import Progress as Told
from coldfield.app.jobs.stages import Stages
from coldfield.app.rehearsals.rehearse import both_passes
from coldfield.coaching.candidates import WISHES, Wish
from coldfield.coaching.own import Own
from coldfield.coaching.propose import (
    FRESH_FROM,
    PROPOSALS,
    Asked,
    Judge,
    Proposal,
    Proposed,
    proposal_of,
    propose,
)
from coldfield.coaching.why import trained, why_hard
from coldfield.drill.cautions import LIMITS
from coldfield.drill.drill import Drill
from coldfield.errors import BadInput, Refused
from coldfield.files.drill_json import write_drill
from coldfield.message import Message, about, day, duration, message, number
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.rehearsal import Scene

HARDER = (1.05, 1.3)
"""'A little harder': the p90 is between these multiples of the current drill's p90. Setting."""

RUNG = 0.12
"""The p90 of a drill of a ladder is within this share of its target. Setting."""

MOST_RUNGS = 6
MOST_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictedAnswer:
    """When the last airway is free, s since the alarm, over all fresh runs with the constants also drawn.

    `p90_doubt_s` is one standard error of `p90_s`; `found_fraction` is the share of runs that free everybody.
    """

    p10_s: float
    p50_s: float
    p90_s: float
    p90_doubt_s: float
    found_fraction: float
    runs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposalAnswer:
    """A complete drill file that fulfils the wish: its predicted times, why it is hard, what it trains."""

    drill: dict[str, Any]
    predicted: PredictedAnswer
    why: tuple[Message, ...]
    trains: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedAnswer:
    """Proposals, easiest first; `figures` says whose constants they were judged with."""

    proposals: tuple[ProposalAnswer, ...]
    candidates: int
    seconds: float
    p90_min: tuple[float, float]
    wish: tuple[Wish, ...]
    found_min: float
    seed: int
    figures: Message
    notes: tuple[Message, ...]
    cautions: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The request: the minutes that nine of ten runs should take at most (None with `harder`, which computes
    them).

    A `ladder` above 0 asks for that many drills, from easiest to hardest, instead of different drills of
    equal difficulty.
    """

    p90_min: tuple[float, float] | None
    wish: tuple[Wish, ...] = ()
    found_min: float = 0.95
    seed: int = 1
    harder: bool = False
    ladder: int = 0


def check_wanted(wanted: Wanted) -> None:
    """Refuse minutes, shares and wishes that cannot be fulfilled; all faults are reported together.

    Raises
    ------
    BadInput
        One line per fault.
    """
    faults: list[Message] = []
    if wanted.p90_min is None and not wanted.harder:
        faults.append(message("fault.propose_when").at("--p90-min"))
    if wanted.p90_min is not None:
        low, high = wanted.p90_min
        if not 0.0 < low < high <= MOST_S / 60.0:
            faults.append(message("fault.propose_minutes", most=number(MOST_S / 60.0)).at("--p90-min"))
    if not 0.0 <= wanted.found_min <= 1.0:
        faults.append(message("fault.bounds", low=number(0), high=number(1)).at("--found-min"))
    faults += [
        message("fault.propose_wish", name=str(one), known=WISHES).at("--wish")
        for one in wanted.wish
        if one not in WISHES
    ]
    if not 0 <= wanted.ladder <= MOST_RUNGS or wanted.ladder == 1:
        faults.append(message("fault.propose_ladder", most=number(MOST_RUNGS)).at("--ladder"))
    if not 0 <= wanted.seed < 2**53:
        faults.append(message("fault.bounds", low=number(0), high=number(2**53 - 1)).at("--seed"))
    if faults:
        raise BadInput(faults)


def propose_drills(
    drill: Drill,
    wanted: Wanted,
    *,
    own: Own | None = None,
    last: LastRun | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    clock: Callable[[], float] = time.monotonic,
) -> ProposedAnswer:
    """Return drills that fulfil a wish; ground, group and number of burials are those of a given drill.

    'A little harder' means harder than the group's `last` run or, if there is none, the drill.

    Raises
    ------
    BadInput
        If the request cannot be fulfilled.
    Refused
        If no drill was found (the closest one is named), or if `cancelled` returned True.
    """
    begun = clock()
    check_wanted(wanted)
    judge = _judge(drill, own, wanted.seed)
    if not drill.burials or not drill.searchers:
        raise BadInput(
            message("fault.rehearsal_needs_one").at("burials" if not drill.burials else "searchers")
        )
    notes: tuple[Message, ...] = ()
    if wanted.p90_min is None:
        p90_s, words = _harder_than(judge, last, own)
        low, high = (round(by * p90_s / 60.0, 1) for by in HARDER)
        notes = (words,)
    else:
        low, high = wanted.p90_min
    found = _all_asked(judge, wanted, low, high, progress, cancelled)
    told = tuple(one for part in found for one in part.proposals)
    if not told:
        raise Refused(_none_found(found, low, high))
    return ProposedAnswer(
        proposals=tuple(
            _answer(one, wanted, n) for n, one in enumerate(sorted(told, key=lambda p: p.p90_s), 1)
        ),
        candidates=max(part.candidates for part in found),
        seconds=round(clock() - begun, 2),
        p90_min=(low, high),
        wish=wanted.wish,
        found_min=wanted.found_min,
        seed=wanted.seed,
        figures=message("coach.settings")
        if own is None
        else message("coach.own_figures", n=own.learned.runs),
        notes=(*notes, message("note.propose.fresh", n=told[0].runs), *_fewer(told, wanted)),
        cautions=LIMITS,
    )


def _judge(drill: Drill, own: Own | None, seed: int) -> Judge:
    lanes, second = both_passes(drill, None) if drill.searchers else (None, None)
    scene = Scene(drill=drill, lanes=lanes or NoLanes(), second=second, seed=seed)
    if own is None:
        return Judge(scene=scene)
    return Judge(scene=scene, drawn=own.drawn, dressed=own.middle)


def _harder_than(judge: Judge, last: LastRun | None, own: Own | None) -> tuple[float, Message]:
    """Return the p90 that a harder drill is compared with, s, and a description of it.

    The last run is rehearsed as buried, with those who searched: a single recorded time says little about how
    hard a drill is.
    """
    if last is None:
        p90_s = _p90_s(judge)
        if p90_s is None:
            raise Refused(message("fault.propose_harder"))
        return p90_s, message("note.propose.harder_than_drill", p90=about(p90_s))
    figures = None if own is None else replace(own, people=last.people)
    p90_s = _p90_s(_judge(last.drill, figures, judge.scene.seed))
    if p90_s is None:
        raise Refused(message("fault.propose_harder").at(last.name))
    run, held, p90 = last.name, day(last.held_on), about(p90_s)
    if last.airway_s is None:
        return p90_s, message("note.propose.harder_than_run", run=run, day=held, p90=p90)
    airway = duration(last.airway_s)
    return p90_s, message("note.propose.harder_than_timed", run=run, day=held, p90=p90, airway=airway)


def _p90_s(judge: Judge) -> float | None:
    drill = judge.scene.drill
    played = proposal_of(drill, judge.play(drill, FRESH_FROM, FRESH_FROM + 1200, 1))
    return None if played is None else played.p90_s


def _all_asked(
    judge: Judge,
    wanted: Wanted,
    low: float,
    high: float,
    progress: Callable[[int, int], None] | None,
    cancelled: Callable[[], bool] | None,
) -> list[Proposed]:
    asked = Asked(
        p90_low_s=60.0 * low,
        p90_high_s=60.0 * high,
        wishes=wanted.wish,
        found_min=wanted.found_min,
        seed=wanted.seed,
    )
    if not wanted.ladder:
        return [propose(judge, asked, progress=progress, cancelled=cancelled)]
    found = []
    for k in range(wanted.ladder):
        middle = asked.p90_low_s * (high / low) ** (k / (wanted.ladder - 1))
        rung = replace(asked, p90_low_s=middle * (1.0 - RUNG), p90_high_s=middle * (1.0 + RUNG), count=1)
        found.append(propose(judge, rung, progress=_part(progress, k, wanted.ladder), cancelled=cancelled))
    return found


def _part(
    progress: Callable[[int, int], None] | None, k: int, parts: int
) -> Callable[[int, int], None] | None:
    if progress is None:
        return None
    return lambda done, total: progress(k * total + done, parts * total)


def _none_found(found: Sequence[Proposed], low: float, high: float) -> Message:
    nearest = next((part.nearest_s for part in found if part.nearest_s is not None), None)
    n = max(part.candidates for part in found)
    if nearest is None:
        return message("fault.propose_none", n=n)
    return message("fault.propose_nearest", n=n, nearest=about(nearest), low=number(low), high=number(high))


def _fewer(told: Sequence[Proposal], wanted: Wanted) -> tuple[Message, ...]:
    asked = wanted.ladder or PROPOSALS
    return () if len(told) >= asked else (message("note.propose.fewer", n=len(told)),)


def _answer(one: Proposal, wanted: Wanted, n: int) -> ProposalAnswer:
    named = replace(one.drill, name=f"{one.drill.name} · {n}"[:200])
    return ProposalAnswer(
        drill=json.loads(write_drill(named)),
        predicted=PredictedAnswer(
            p10_s=round(one.p10_s, 1),
            p50_s=round(one.p50_s, 1),
            p90_s=round(one.p90_s, 1),
            p90_doubt_s=round(one.p90_doubt_s, 1),
            found_fraction=one.found_fraction,
            runs=one.runs,
        ),
        why=why_hard(one),
        trains=tuple(exercise.practise for exercise in trained(one, wanted.wish)),
    )


def propose_work(
    *,
    drill: Drill,
    wanted: Wanted,
    group: GroupRuns | None = None,
    last: LastRun | None = None,
    progress: Told,
) -> ProposedAnswer:
    """Return what `coldfield propose --json` prints, in a worker process.

    Parameters
    ----------
    drill : Drill
        Provides the ground, the group and the number of burials.
    wanted : Wanted
        The request.
    group : GroupRuns, optional
        The group whose own figures are used to judge.
    last : LastRun, optional
        What a harder drill is compared with.
    progress : callable
        Called with the stages 'learning' (if there is a group) and 'proposing'.
    """
    stages = Stages(progress, {**({"learning": 30} if group is not None else {}), "proposing": 70})
    own = None
    if group is not None:
        own = own_for(drill, group, seed=wanted.seed, progress=stages.at("learning"))
    return propose_drills(drill, wanted, own=own, last=last, progress=stages.at("proposing"))
