"""When the search for signals was over: with the first signal of the last set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.drill.drill import Drill


def last_first_signal_s(
    drill: Drill, splits: RunSplits, approaches: Mapping[str, Sequence[Approach]]
) -> float | None:
    """Return the moment of the last set's first signal, s; None where a set was heard by nobody.

    Parameters
    ----------
    drill : Drill
        As buried.
    splits : RunSplits
        A first signal that was pressed counts before everything else.
    approaches : mapping
        By searcher: the turn to a set tells of its first signal where nobody pressed it, else its strike.
    """
    turned: dict[str, float] = {}
    for mine in approaches.values():
        for one in mine:
            turned[one.burial] = min(one.turn.t_s, turned.get(one.burial, one.turn.t_s))
    moments = []
    for burial in drill.burials:
        if burial.transmitter is None:
            continue
        first = splits.first("first_signal", burial=burial.id)
        first = turned.get(burial.id) if first is None else first
        first = splits.first("probe_strike", burial=burial.id) if first is None else first
        if first is None:
            return None
        moments.append(first)
    return max(moments, default=None)
