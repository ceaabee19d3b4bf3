"""One finding of a debrief, and its confidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator

from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.ensemble import at_least
from coldfield.debrief.written import OURS, Number, OrFalse, Point, Said, Word, Words, Written, or_else
from coldfield.message import Message, Quantity, cost, duration, message

CLEAR = message("confidence.clear")
LIKELY = message("confidence.likely")

_CONFIDENCE = {
    "clear": CLEAR,
    "likely": LIKELY,
    "as seen by the instructor": message("confidence.as_seen"),
    "as the splits tell": message("confidence.by_splits"),
}
"""The meaning of these words in debriefs of earlier versions."""


SURELY: Mapping[str, float] = {
    "late_turn": 0.98,
    "quick_turn": 0.97,
    "long_way": 0.97,
    "straight_line": 0.99,
    "fast_near": 1.0,
    "wrong_way": 0.97,
    "idle": 0.97,
    "bunched": 0.97,
    "order": 0.97,
}
"""Share of the variants that must agree for each kind of finding, chosen so that 97 of 100 findings of that
kind are right on the runs used for tuning (docs/debrief_accuracy.md)."""


STEP: Mapping[str, float] = {"late_turn": 1.0, "wrong_way": 1.0, "fast_near": 0.1, "idle": 1.0}
"""The stated size is rounded down to a multiple of this, in s, m or m/s, which is what the sentence shows."""


def in_ways(share: float) -> Message:
    """Return in how many of 100 variants a finding holds."""
    return message("confidence.ways", n=round(100.0 * share))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized:
    """A size over all variants: the stated value, the median, and the share of variants that reach it."""

    said: float
    middle: float
    share: float

    @property
    def words(self) -> Message:
        """The confidence of the stated value."""
        return in_ways(self.share)

    def numbers(self, name: str) -> dict[str, float | None]:
        """Return the numbers of a finding: the stated size, the median, the share."""
        return {name: self.said, f"middle_{name}": self.middle, "share": self.share}


def sized(size: NDArray[np.float64], kind: str) -> Sized:
    """Return the size to state, (w,): the largest that enough variants reach for this kind of finding.

    It is rounded down for kinds in `STEP`.
    """
    known = np.isfinite(size)
    if not known.any():
        return Sized(said=-np.inf, middle=-np.inf, share=0.0)
    said = at_least(size, SURELY[kind])
    if kind in STEP and np.isfinite(said):
        steps = float(np.floor(said / STEP[kind] + 1e-6))
        said = round(steps * STEP[kind], 1)
    reached = float(np.mean(np.nan_to_num(size, nan=-np.inf) >= said))
    return Sized(said=said, middle=float(np.median(size[known])), share=reached)


def _earlier_confidence(value: Any) -> Any:
    return _CONFIDENCE.get(value, value) if isinstance(value, str) else value


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice(Written):
    """What to practise after a finding, in one sentence: an exercise of the list, and its source.

    `wish` is what the next drill should contain for it: 'close-pair', 'overlap', 'upright' or 'deep'.
    """

    id: Word
    practise: Said
    source: Said
    wish: Word | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Written):
    """One finding: its message and numbers, person, burial, time, place and cost.

    `minutes` is the cost, None if there is no such figure; `confidence` says how strong the evidence is;
    `praise` marks what went well. `phase` is the phase whose duration the finding is about, 'strike' or
    'airway' for a time from the alarm, None for other findings. `exercise` is what to practise, None if there
    is nothing.
    """

    kind: Annotated[Words, OURS] = ""
    text: Said
    numbers: Annotated[Mapping[str, Number | None], or_else({})] = field(default_factory=dict)
    searcher: Word | None = None
    burial: Word | None = None
    phase: Word | None = None
    at_s: Number | None = None
    position_m: Point | None = None
    minutes: Number | None = None
    confidence: Annotated[Said, BeforeValidator(_earlier_confidence)] = CLEAR
    praise: OrFalse = False
    group: Word | None = None
    exercise: Practice | None = None

    def of_group(self) -> str:
        """Return its group: 'cost' (minutes, or a burial not found), 'good' or 'noted'."""
        if self.praise:
            return "good"
        return "cost" if self.kind == "not_found" or (self.minutes or 0.0) > 0.0 else "noted"

    def cost_words(self) -> Quantity:
        """Return its minutes; to the second for a standard, because both times were measured or entered."""
        seconds = 60.0 * (self.minutes or 0.0)
        return duration(seconds) if self.kind == "standard_missed" else cost(seconds)


def placed(finding: Finding, walk: HeardWalk | None) -> Finding:
    """Return the finding with the place of its searcher at its moment."""
    if walk is None or finding.at_s is None:
        return finding
    i = int(np.clip(round(finding.at_s), 0, walk.t_s.size - 1))
    if not walk.known[i]:
        return finding
    x, y = walk.position_m[i]
    return replace(finding, position_m=(float(x), float(y)))
