"""One exercise, and the flaw that it addresses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coldfield.message import Message, message

Wish = Literal["close-pair", "overlap", "upright", "deep"]
"""What the next drill should contain so that the exercise can be practised: two burials close to
each other, sets whose pulses overlap, a set that lies upright, or one that lies deep."""

COMMON_PRACTICE = message("exercise.source.practice")


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """What to practise, in one sentence.

    Parameters
    ----------
    id : str
        Never changes, because records and drills refer to it.
    practise : Message
        The sentence.
    source : Message
        The published text that teaches it, or a note that it is common practice without one.
    kinds : tuple of str
        Kinds of findings that it helps against (`coldfield.debrief.findings`).
    phases : tuple of str
        Phases that it makes faster: signal, coarse, fine, probe, dig; 'strike' and 'airway' are the times
        from the alarm. It is chosen for each phase that took long or missed a standard.
    observations : tuple of str
        Codes of observations (`coldfield.files.day_model.SEEN`) for which it is chosen if they were not
        seen.
    wish : str or None
        What the next drill should contain for it; None if any drill will do.
    """

    id: str
    practise: Message
    source: Message = COMMON_PRACTICE
    kinds: tuple[str, ...] = ()
    phases: tuple[str, ...] = ()
    observations: tuple[str, ...] = ()
    wish: Wish | None = None
