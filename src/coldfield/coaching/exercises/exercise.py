"""One exercise, and which flaw it answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coldfield.message import Message, message

Wish = Literal["close-pair", "overlap", "upright", "deep"]
"""What the next drill should hold so that the exercise is practised in it: two burials close to each other,
sets whose pulses overlap, a set that lies upright, one that lies deep."""

COMMON_PRACTICE = message("exercise.source.practice")


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """What to practise, in one sentence.

    Parameters
    ----------
    id : str
        Stays the same for good: records and drills refer to it.
    practise : Message
        The sentence.
    source : Message
        The published text that teaches it, or that it is common practice without one.
    kinds : tuple of str
        Kinds of findings that it answers (`coldfield.debrief.findings`).
    phases : tuple of str
        Phases that it makes quicker: signal, coarse, fine, probe, dig; 'strike' and 'airway' are the times
        from the alarm. It answers each phase that took long or missed a standard.
    observations : tuple of str
        Codes of observations (`coldfield.files.day_model.SEEN`) that it answers where they were not seen.
    wish : str or None
        What the next drill should hold for it; None where any drill will do.
    """

    id: str
    practise: Message
    source: Message = COMMON_PRACTICE
    kinds: tuple[str, ...] = ()
    phases: tuple[str, ...] = ()
    observations: tuple[str, ...] = ()
    wish: Wish | None = None
