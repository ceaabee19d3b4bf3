"""When the sets of a drill hide each other's pulses: pulse by pulse, in spells, and in the long run."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from coldfield.app.answers import fields_of
from coldfield.app.hearing.answers import (
    KeyingAnswer,
    OverlapAnswer,
    OverlapInTimeAnswer,
    OverlapOfTwo,
    PulseAnswer,
    SetHidden,
    SetHiddenInTime,
)
from coldfield.beacon.pulses import (
    Keying,
    hidden_pulses,
    hidden_spells_s,
    masked,
    masked_at_random,
    masked_share_in_the_long_run,
    overlap_episode_s,
)
from coldfield.drill import Drill
from coldfield.errors import BadInput
from coldfield.message import message

MOST_SPELLS = 500
"""The most spells in an answer for one set; with more, a picture would only show grey. Setting."""

NOTES = (
    message("note.overlap_alike"),
    message("note.periods_drift"),
)


def pulse_overlap(drill: Drill, *, duration_s: float) -> OverlapAnswer:
    """Return how the sets of a drill hide each other's pulses, at the drill's phases and in the long run.

    Raises
    ------
    OutOfModel
        If the duration or a keying lies outside the model.
    """
    sets = _keyings(drill)
    keyings = tuple(sets.values())
    found = masked(keyings, duration_s)
    thrown = masked_at_random(keyings, duration_s, np.random.Generator(np.random.Philox(457)))
    rows = tuple(
        SetHidden(
            id=name,
            masked_share=found[k].share,
            longest_masked_s=found[k].longest_s,
            random_phases_masked_share=thrown[k].mean_share,
            random_phases_longest_p90_s=thrown[k].longest_p90_s,
            long_run_masked_share=masked_share_in_the_long_run(keyings[k], _others(keyings, k)),
        )
        for k, name in enumerate(sets)
    )
    return OverlapAnswer(duration_s=duration_s, burials=rows, pairs=_pairs(sets), notes=NOTES)


def overlap_in_time(drill: Drill, *, duration_s: float, window_s: float) -> OverlapInTimeAnswer:
    """Return the answer of `pulse_overlap`, and also when each set is on and hidden.

    Parameters
    ----------
    drill : Drill
        Its burials' keying.
    duration_s : float
        The time in which spells are counted, s.
    window_s : float
        The time for which single pulses are listed, from time 0, s; not above the duration.

    Raises
    ------
    BadInput
        If the window is longer than the duration.
    OutOfModel
        As `pulse_overlap`.
    """
    if window_s > duration_s:
        raise BadInput(message("fault.window_longer").at("window_s"))
    found, sets = pulse_overlap(drill, duration_s=duration_s), _keyings(drill)
    return OverlapInTimeAnswer(
        duration_s=duration_s,
        window_s=window_s,
        burials=tuple(_in_time(row, sets, duration_s, window_s) for row in found.burials),
        pairs=found.pairs,
        notes=found.notes,
    )


def _keyings(drill: Drill) -> dict[str, Keying]:
    """Return the keying of each set by its burial."""
    sent = ((b.id, b.transmitter) for b in drill.burials)
    return {
        name: Keying(period_s=t.period_s, pulse_s=t.pulse_s, phase_s=t.phase_s)
        for name, t in sent
        if t is not None
    }


def _others(keyings: tuple[Keying, ...], k: int) -> tuple[Keying, ...]:
    return keyings[:k] + keyings[k + 1 :]


def _pairs(sets: dict[str, Keying]) -> tuple[OverlapOfTwo, ...]:
    pairs = []
    for (one, a), (two, b) in combinations(sets.items(), 2):
        episode, again = (None, None) if a.period_s == b.period_s else overlap_episode_s(a, b)
        pairs.append(OverlapOfTwo(ids=(one, two), episode_s=episode, comes_back_after_s=again))
    return tuple(pairs)


def _in_time(row: SetHidden, sets: dict[str, Keying], duration_s: float, window_s: float) -> SetHiddenInTime:
    keying = sets[row.id]
    others = [other for name, other in sets.items() if name != row.id]
    spells = hidden_spells_s(keying, *hidden_pulses(keying, others, duration_s))
    return SetHiddenInTime(
        **fields_of(row),
        keying=KeyingAnswer(period_s=keying.period_s, pulse_s=keying.pulse_s),
        pulses=_pulses(row.id, sets, window_s),
        hidden_spells_s=tuple((float(start), float(end)) for start, end in spells[:MOST_SPELLS]),
        spells_left_out=max(len(spells) - MOST_SPELLS, 0),
    )


def _pulses(name: str, sets: dict[str, Keying], window_s: float) -> tuple[PulseAnswer, ...]:
    """Return each pulse of one set with the sets that hide it."""
    keying = sets[name]
    hidden = {
        other: hidden_pulses(keying, [key], window_s)[1] for other, key in sets.items() if other != name
    }
    starts, _ = hidden_pulses(keying, [], window_s)
    return tuple(
        PulseAnswer(
            from_s=float(start),
            to_s=float(start + keying.pulse_s),
            hidden_by=tuple(other for other, by in hidden.items() if by[i]),
        )
        for i, start in enumerate(starts)
    )
