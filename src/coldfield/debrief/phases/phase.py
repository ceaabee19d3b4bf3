"""One phase of a search."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """One phase of one searcher at one burial: signal, coarse, fine, probe or dig.

    Times in s of the run; `border_uncertainty_s` is that of its end, and of its start where that is
    the less certain one. Length on the snow with standing taken out, for signal and coarse. `burial`
    is None for signal search that led to none.
    """

    burial: str | None
    phase: str
    start_s: float
    end_s: float
    border_uncertainty_s: float
    length_m: float | None = None
    speed_m_s: float | None = None
    flux_line_ratio: float | None = None


def timed_phase(burial: str, phase: str, start_s: float, end_s: float, uncertainty_s: float) -> Phase:
    """Return a phase between two moments; a moment before the alarm, a slip of the keeper, counts as 0."""
    start_s, end_s = max(start_s, 0.0), max(end_s, 0.0)
    return Phase(burial=burial, phase=phase, start_s=start_s, end_s=end_s, border_uncertainty_s=uncertainty_s)
