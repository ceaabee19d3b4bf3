"""The findings of a debrief as shown to a group: in three parts, with what to practise."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from coldfield.coaching.exercises.choosing import exercise_against
from coldfield.debrief.findings.finding import Finding, Practice

GROUPS = ("cost", "good", "noted")


def told_to_group(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings by group: what cost minutes (the most costly first), what was good, what was noted.

    Each finding about something to improve gets its exercise from today's list, even if the list was
    different when the debrief was made.
    """
    told = [replace(one, group=one.of_group(), exercise=_practice(one)) for one in findings]
    return tuple(sorted(told, key=lambda one: (GROUPS.index(one.of_group()), -_cost_s(one))))


def _cost_s(finding: Finding) -> float:
    """The cost of a finding in seconds; a burial that nobody found costs more than any minutes."""
    return float("inf") if finding.kind == "not_found" else finding.minutes or 0.0


def _practice(finding: Finding) -> Practice | None:
    exercise = exercise_against(finding)
    if exercise is None:
        return None
    return Practice(id=exercise.id, practise=exercise.practise, source=exercise.source, wish=exercise.wish)
