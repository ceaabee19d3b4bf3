"""One phase of a search."""

from __future__ import annotations

from dataclasses import dataclass

from coldfield.debrief.written import Code, Number, Word, Written


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase(Written):
    """One phase of one searcher at one burial: signal, coarse, fine, probe or dig.

    Times are in s of the run; `border_uncertainty_s` is the larger uncertainty of its end and start, None if
    unknown. The length, for signal and coarse search, is on the snow without standing. `burial` is None for
    signal search that led to no burial.
    """

    burial: Word | None = None
    phase: Code
    start_s: Number
    end_s: Number
    border_uncertainty_s: Number | None = None
    length_m: Number | None = None
    speed_m_s: Number | None = None
    flux_line_ratio: Number | None = None


def timed_phase(burial: str, phase: str, start_s: float, end_s: float, uncertainty_s: float) -> Phase:
    """Return a phase between two moments; one before the alarm, a mistake of the keeper, counts as 0."""
    start_s, end_s = max(start_s, 0.0), max(end_s, 0.0)
    return Phase(burial=burial, phase=phase, start_s=start_s, end_s=end_s, border_uncertainty_s=uncertainty_s)
