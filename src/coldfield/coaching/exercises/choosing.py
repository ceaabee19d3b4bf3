"""Which exercise helps against which finding."""

from __future__ import annotations

from coldfield.coaching.exercises.exercise import Exercise
from coldfield.coaching.exercises.listed import EXERCISES
from coldfield.debrief.findings.finding import Finding
from coldfield.message import Message

NOT_SEEN = ("observation.not_seen", "observation.not_seen_noted")


def exercise_for_phase(phase: str) -> Exercise | None:
    """Return the exercise that makes a phase faster, None if the list has none."""
    return next((one for one in EXERCISES if phase in one.phases), None)


def exercise_against(finding: Finding) -> Exercise | None:
    """Return the exercise against a finding; None for praise or if the list has none."""
    if finding.praise:
        return None
    if finding.kind == "observation":
        code = _not_seen(finding.text)
        return next((one for one in EXERCISES if code in one.observations), None)
    told = next((one for one in EXERCISES if finding.kind in one.kinds), None)
    return told or (exercise_for_phase(finding.phase) if finding.phase else None)


def _not_seen(text: Message) -> str | None:
    """Return the code of the thing that was not seen, as in `coldfield.files.day_model.SEEN`."""
    about = text.values.get("about")
    if text.code not in NOT_SEEN or not isinstance(about, Message):
        return None
    return about.code.removeprefix("seen.")
