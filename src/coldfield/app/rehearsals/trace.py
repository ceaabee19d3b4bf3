"""One run of a rehearsal, played again with everybody's line, for the replay."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from math import isnan

from coldfield.app.rehearsals.answers import BurialMoments, PersonTrace, PhaseFrom, TraceAnswer
from coldfield.app.rehearsals.rehearse import both_passes
from coldfield.drill import Drill
from coldfield.drill.site import Point
from coldfield.rescue.anywhere import Anywhere
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.played import NOT_FOUND, REASONS, BurialTimes, Played, Trace
from coldfield.rescue.player.play import play
from coldfield.rescue.rehearsal import MOMENT_FIELDS
from coldfield.search.lanes.plan import LanePlan


def trace_answer(
    drill: Drill, *, run: int, seed: int, strip_width_m: float | None = None, anywhere: bool = False
) -> TraceAnswer:
    """Return one run: lines with times, what each person did when, moments per burial.

    Parameters
    ----------
    drill : Drill
        The rehearsed drill.
    run, seed : int
        Key of the run's draws; the same as in the rehearsal.
    strip_width_m, anywhere
        As in `rehearse_drill`.

    Notes
    -----
    The plain-Python program plays it, with the same events as the compiled one. Times are rounded to 0.1 s,
    places to 1 cm.
    """
    made = Anywhere(drill.site).drill(drill, seed=seed, run=run) if anywhere else drill
    lanes, second = _passes(drill, strip_width_m)
    played = play(made, lanes or NoLanes(), seed=seed, run=run, second=second)
    return _answer(made, played)


@lru_cache(maxsize=8)
def _passes(drill: Drill, strip_width_m: float | None) -> tuple[LanePlan | None, LanePlan | None]:
    """Cache the lanes of the latest drills, because people look at several runs of the same one."""
    return both_passes(drill, strip_width_m)


def _answer(drill: Drill, played: Played) -> TraceAnswer:
    return TraceAnswer(
        run=played.run,
        seed=played.seed,
        end_s=round(played.end_s, 1),
        traces=tuple(_trace(trace) for trace in played.traces),
        burials=tuple(
            _moments(times, burial.position_m)
            for burial, times in zip(drill.burials, played.burials, strict=True)
        ),
        strays=played.strays,
        notes=played.notes,
    )


def _trace(trace: Trace) -> PersonTrace:
    corners = enumerate(trace.phase)
    firsts = [(next(group)[0], phase) for phase, group in groupby(corners, key=lambda one: one[1])]
    return PersonTrace(
        searcher=trace.searcher,
        t_s=tuple(trace.t_s.round(1).tolist()),
        east_m=tuple(trace.east_m.round(2).tolist()),
        north_m=tuple(trace.north_m.round(2).tolist()),
        phases=tuple(PhaseFrom(from_s=round(float(trace.t_s[k]), 1), phase=phase) for k, phase in firsts),
    )


def _moments(times: BurialTimes, position_m: Point) -> BurialMoments:
    return BurialMoments(
        id=times.burial,
        position_m=position_m,
        **{name: _tenths(getattr(times, name)) for name in MOMENT_FIELDS},
        finder=times.finder,
        not_found=None if times.failure < 0 else REASONS[NOT_FOUND[times.failure]],
    )


def _tenths(moment_s: float) -> float | None:
    return None if isnan(moment_s) else round(moment_s, 1)
