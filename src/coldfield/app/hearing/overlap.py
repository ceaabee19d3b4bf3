"""When the sets of a drill hide each other's pulses: pulse by pulse, in spells, and in the long run."""

from __future__ import annotations

from typing import Any

from coldfield.app.hearing.teaching import pulse_overlap
from coldfield.beacon.pulses import Keying, hidden_pulses, hidden_spells_s
from coldfield.drill import Drill
from coldfield.errors import BadInput

MOST_SPELLS = 500
"""Spells told of one set; the picture of a time with more of them is a grey one. Setting."""


def overlap_in_time(drill: Drill, *, duration_s: float, window_s: float) -> dict[str, Any]:
    """Return what `pulse_overlap` says, and besides when each set is on and hidden.

    Parameters
    ----------
    drill : Drill
        Its burials' keying.
    duration_s : float
        How long spells are looked for, s.
    window_s : float
        How long single pulses are told, from time 0, s; not above the duration.

    Raises
    ------
    BadInput
        If the window is longer than the duration.
    OutOfModel
        As `pulse_overlap`.
    """
    if window_s > duration_s:
        raise BadInput("window_s: must not be longer than duration_s")
    found: dict[str, Any] = pulse_overlap(drill, duration_s=duration_s)
    senders = [(b.id, b.transmitter) for b in drill.burials if b.transmitter is not None]
    keyings = [Keying(period_s=t.period_s, pulse_s=t.pulse_s, phase_s=t.phase_s) for _, t in senders]
    names = [name for name, _ in senders]
    for k, row in enumerate(found["burials"]):
        others = [key for j, key in enumerate(keyings) if j != k]
        spells = hidden_spells_s(keyings[k], *hidden_pulses(keyings[k], others, duration_s))
        row["keying"] = {"period_s": keyings[k].period_s, "pulse_s": keyings[k].pulse_s}
        row["pulses"] = _pulses(k, names, keyings, window_s)
        row["hidden_spells_s"] = [list(spell) for spell in spells[:MOST_SPELLS]]
        row["spells_left_out"] = max(len(spells) - MOST_SPELLS, 0)
    return {**found, "window_s": window_s}


def _pulses(k: int, names: list[str], keyings: list[Keying], window_s: float) -> list[dict[str, Any]]:
    """Each pulse of one set with the sets that hide it."""
    told = {
        other: hidden_pulses(keyings[k], [keying], window_s)
        for j, (other, keying) in enumerate(zip(names, keyings, strict=True))
        if j != k
    }
    starts, _ = hidden_pulses(keyings[k], [], window_s)
    return [
        {
            "from_s": float(start),
            "to_s": float(start + keyings[k].pulse_s),
            "hidden_by": [other for other, (_, hidden) in told.items() if hidden[i]],
        }
        for i, start in enumerate(starts)
    ]
