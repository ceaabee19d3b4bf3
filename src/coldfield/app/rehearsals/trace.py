"""One run of a rehearsal, played again with everybody's line: what a replay shows."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from math import isnan
from typing import Any

from coldfield.app.rehearsals.rehearse import both_passes
from coldfield.drill import Drill
from coldfield.rescue.anywhere import Anywhere
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.played import NOT_FOUND, BurialTimes, Played, Trace
from coldfield.rescue.player.play import play
from coldfield.rescue.rehearsal import MOMENTS
from coldfield.search.lanes.plan import LanePlan


def trace_document(
    drill: Drill, *, run: int, seed: int, strip_width_m: float | None = None, anywhere: bool = False
) -> dict[str, Any]:
    """Return one run as a JSON object: lines with times, what each person did when, moments per burial.

    Parameters
    ----------
    drill : Drill
        As rehearsed.
    run, seed : int
        Key of the run's draws; the same as in the rehearsal.
    strip_width_m, anywhere
        As in `rehearse_drill`.

    Notes
    -----
    The plain-Python program plays it; the rehearsal's compiled one has the same events. Times are
    rounded to 0.1 s, places to 1 cm.
    """
    made = Anywhere(drill.site).drill(drill, seed=seed, run=run) if anywhere else drill
    lanes, second = _passes(drill, strip_width_m)
    played = play(made, lanes or NoLanes(), seed=seed, run=run, second=second)
    return _document(made, played)


@lru_cache(maxsize=8)
def _passes(drill: Drill, strip_width_m: float | None) -> tuple[LanePlan | None, LanePlan | None]:
    """Keep the lanes of the latest drills: a person looks at several runs of the same one."""
    return both_passes(drill, strip_width_m)


def _document(drill: Drill, played: Played) -> dict[str, Any]:
    return {
        "run": played.run,
        "seed": played.seed,
        "end_s": round(played.end_s, 1),
        "traces": [_trace(trace) for trace in played.traces],
        "burials": [
            {"position_m": list(b.position_m), **_moments(times)}
            for b, times in zip(drill.burials, played.burials, strict=True)
        ],
        "strays": played.strays,
        "notes": list(played.notes),
    }


def _trace(trace: Trace) -> dict[str, Any]:
    corners = enumerate(trace.phase)
    firsts = [(next(group)[0], phase) for phase, group in groupby(corners, key=lambda one: one[1])]
    return {
        "searcher": trace.searcher,
        "t_s": trace.t_s.round(1).tolist(),
        "east_m": trace.east_m.round(2).tolist(),
        "north_m": trace.north_m.round(2).tolist(),
        "phases": [{"from_s": round(float(trace.t_s[k]), 1), "phase": phase} for k, phase in firsts],
    }


def _moments(times: BurialTimes) -> dict[str, Any]:
    names = {m: "airway_s" if m == "airway" else f"{m}_s" for m in MOMENTS}
    known = {name: getattr(times, name) for name in names.values()}
    return {
        "id": times.burial,
        **{name: None if isnan(value) else round(value, 1) for name, value in known.items()},
        "finder": times.finder,
        "not_found": None if times.failure < 0 else NOT_FOUND[times.failure],
    }
