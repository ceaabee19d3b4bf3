"""The result of one run of a rehearsal: the times of each burial, and where everyone was."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isnan, nan

import numpy as np
from numpy.typing import NDArray

from coldfield.message import Message, message

NOT_FOUND: tuple[str, ...] = (
    "never heard",
    "heard, but lost again",
    "deeper than the probes reach",
    "probed, not struck",
    "nobody has a probe",
    "no set, and the probe line did not strike it",
)
"""Why a burial was not found, in the order of `BurialTimes.failure`."""

REASONS: Mapping[str, Message] = {
    "never heard": message("reason.never_heard"),
    "heard, but lost again": message("reason.lost_again"),
    "deeper than the probes reach": message("reason.too_deep"),
    "probed, not struck": message("reason.not_struck"),
    "nobody has a probe": message("reason.no_probe"),
    "no set, and the probe line did not strike it": message("reason.no_set"),
}
"""The same in words for people."""

PHASES: tuple[str, ...] = ("signal", "coarse", "fine", "probe", "dig")


@dataclass(frozen=True, slots=True, kw_only=True)
class BurialTimes:
    """Moments of one burial in one run, s since the alarm; nan if the run did not get that far.

    `turn_s` to `lowest_reading_s` are those of the approach that led to the strike (or of the last one).
    `failure` is an index into `NOT_FOUND`, -1 for a burial that was struck.
    """

    burial: str
    first_signal_s: float = nan
    turn_s: float = nan
    within_10_m_s: float = nan
    fine_start_s: float = nan
    lowest_reading_s: float = nan
    probe_strike_s: float = nan
    airway_s: float = nan
    finder: str | None = None
    failure: int = -1

    @property
    def found(self) -> bool:
        """Whether a probe struck."""
        return not isnan(self.probe_strike_s)

    def durations_s(self) -> dict[str, float]:
        """Return how long each phase took; together they make up the time to the airway.

        Signal search lasts from the alarm to the finder's turn, so it includes whatever came before:
        other burials and lost signals. Coarse and fine are nan for a burial struck by a probe line.
        """
        fine = self.fine_start_s
        start_of_probing = self.turn_s if isnan(fine) else self.lowest_reading_s
        return {
            "signal": self.turn_s,
            "coarse": fine - self.turn_s,
            "fine": self.lowest_reading_s - fine,
            "probe": self.probe_strike_s - start_of_probing,
            "dig": self.airway_s - self.probe_strike_s,
        }


@dataclass(frozen=True, eq=False, kw_only=True)
class Trace:
    """Where one searcher was: corners of the walked line in plan, m, with times and what they did; all (k,).

    Between two corners people walk straight at a constant speed, so linear interpolation is exact.
    `phase[k]` applies from `t_s[k]` on: ready, walk, signal, coarse, fine, probe, dig, line or
    wait.
    """

    searcher: str
    t_s: NDArray[np.float64]
    east_m: NDArray[np.float64]
    north_m: NDArray[np.float64]
    phase: tuple[str, ...]

    def at(self, t_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return positions, shape (..., 2), m, at times of any shape, s since the alarm."""
        return np.stack(
            [np.interp(t_s, self.t_s, self.east_m), np.interp(t_s, self.t_s, self.north_m)], axis=-1
        )

    def phase_at(self, t_s: float) -> str:
        """Return what the searcher did at a time."""
        k = int(np.searchsorted(self.t_s, t_s, side="right")) - 1
        return self.phase[max(k, 0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """One run: times per burial in the order of the drill, a trace per searcher, how it ended."""

    run: int
    seed: int
    burials: tuple[BurialTimes, ...]
    traces: tuple[Trace, ...]
    end_s: float
    events: int
    strays: int = 0
    notes: tuple[Message, ...] = field(default=())
