"""Rehearse a drill as it was buried, for the bands beside the phases of a run."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coldfield.app.jobs.stages import Steps
from coldfield.debrief.findings.order_found import UsualOrder, usual_order
from coldfield.debrief.findings.yardsticks import RehearsedPhase, bands_of
from coldfield.drill.drill import Drill
from coldfield.errors import ColdfieldError
from coldfield.message import Message, message
from coldfield.rescue.rehearsal import MOMENTS, Rehearsal


def rehearsed_bands(
    drill: Drill, width: float | None, runs: int, steps: Steps
) -> tuple[tuple[RehearsedPhase, ...], UsualOrder | None, list[Message]]:
    """Return the bands, the order in which burials are usually struck, and notes.

    Parameters
    ----------
    drill : Drill
        With its burials as actually hidden, where that is known.
    width : float or None
        The strip width, m; if None, nothing is rehearsed.
    runs : int
        The number of rehearsals; 0 for none.
    steps : callable
        Called with each step.
    """
    if runs <= 0 or width is None:
        return (), None, []
    from coldfield.app.rehearsals.rehearse import rehearse_drill

    try:
        rehearsed = rehearse_drill(drill, runs=runs, seed=1, strip_width_m=width, progress=steps)
        drawn = rehearsed.unsure
    except ColdfieldError as error:
        return (), None, [message("note.no_bands", why=error.message)]
    done = rehearsed.rehearsal
    usual = usual_order(done.moments_s[:, :, MOMENTS.index("probe_strike")], done.burials)
    notes = [message("note.bands_from", n=runs)]
    # The constants are drawn too: uncertainty of the model must not be blamed on a person.
    bands = bands_of(_over_all(drawn), done.burials, scatter_s=_over_all(done))
    return bands, usual, notes


def _over_all(rehearsal: Rehearsal) -> dict[str, NDArray[np.float64]]:
    """Return durations by phase over all runs; a run that left the burial unfound counts as longest."""
    return {phase: rehearsal.or_never(seconds) for phase, seconds in rehearsal.durations_s().items()}
