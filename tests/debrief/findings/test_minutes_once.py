"""Two findings never count the same minutes."""

from __future__ import annotations

from coldfield.debrief.findings.finding import Finding
from coldfield.debrief.findings.yardsticks import minutes_once
from coldfield.message import verbatim


def finding(kind: str, minutes: float | None, *, phase: str = "dig", burial: str = "A") -> Finding:
    return Finding(kind=kind, text=verbatim(kind), numbers={}, burial=burial, phase=phase, minutes=minutes)


def test_contract_a_phase_beyond_rehearsals_and_standard_tells_its_minutes_once() -> None:
    found = [
        finding("long_dig", 2.0),
        finding("standard_missed", 0.05),
        finding("standard_missed", 3.5, burial="B"),
        finding("long_dig", 3.5, burial="B"),
        finding("long_probe", 1.0, phase="probe"),
        finding("standard_met", None, phase="probe"),
    ]
    kept = minutes_once(found)
    assert [one.minutes for one in kept] == [2.0, None, 3.5, None, 1.0, None]
    assert [one.of_group() for one in kept] == ["cost", "noted", "cost", "noted", "cost", "noted"]


def test_contract_over_a_standard_seconds_are_told_as_they_were_measured() -> None:
    # 10 min 3 s is 3 s over 10 min, not 5 s.
    three = finding("standard_missed", (603.0 - 600.0) / 60.0)
    assert (three.cost_words().kind, three.cost_words().value) == ("duration", 3.0)
    assert finding("long_dig", 3.0 / 60.0).cost_words().kind == "cost"
