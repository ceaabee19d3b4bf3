"""The end of signal search: the first signal of the last set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.drill.drill import Drill


def last_first_signal_s(
    drill: Drill, splits: RunSplits, approaches: Mapping[str, Sequence[Approach]]
) -> float | None:
    """Return the moment of the last set's first signal, s; None if nobody heard some set.

    Parameters
    ----------
    drill : Drill
        The drill as buried.
    splits : RunSplits
        A split for the first signal has priority.
    approaches : mapping
        By searcher: without such a split, the turn to a set gives its first signal, else its strike.
    """
    moments = splits.each("probe_strike")
    turned: dict[str, float] = {}
    for one in (approach for mine in approaches.values() for approach in mine):
        turned[one.burial] = min(one.turn.t_s, turned.get(one.burial, inf))
    moments |= turned | splits.each("first_signal")
    sets = [burial.id for burial in drill.burials if burial.transmitter is not None]
    return max((moments[one] for one in sets), default=None) if set(sets) <= set(moments) else None
