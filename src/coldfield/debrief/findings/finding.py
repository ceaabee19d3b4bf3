"""One statement of a debrief, and how sure it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any

import numpy as np
from pydantic import BeforeValidator

from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.written import OURS, Number, OrFalse, Point, Said, Word, Words, Written, or_else
from coldfield.message import Message, message

CLEAR = message("confidence.clear")
LIKELY = message("confidence.likely")

_CONFIDENCE = {
    "clear": CLEAR,
    "likely": LIKELY,
    "as seen by the instructor": message("confidence.as_seen"),
    "as the splits tell": message("confidence.by_splits"),
}
"""What stands for these words in debriefs of earlier versions."""


def confidence(size: float, doubt: float) -> Message:
    """Return how far a size stands above its doubt (nineteen cases of twenty)."""
    return CLEAR if size > 2.0 * doubt else LIKELY


def _earlier_confidence(value: Any) -> Any:
    return _CONFIDENCE.get(value, value) if isinstance(value, str) else value


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice(Written):
    """What to practise against a finding, in one sentence: which exercise of the list, and its source.

    `wish` is what the next drill should hold for it: 'close-pair', 'overlap', 'upright' or 'deep'.
    """

    id: Word
    practise: Said
    source: Said
    wish: Word | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Written):
    """One statement: what, as a message and in numbers, who, at which burial, when, where, at what cost.

    `minutes` is what it cost, None where it has no such figure; `confidence` says how far
    the evidence carries; `praise` marks what went well. `phase` is the phase that took long or short,
    'strike' or 'airway' for a time from the alarm; None where the finding is not about how long one took.
    `exercise` is what to practise, None where there is nothing to.
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
        """Return the group that it stands in: 'cost' (minutes, or a burial not found), 'good' or 'noted'."""
        if self.praise:
            return "good"
        return "cost" if self.kind == "not_found" or (self.minutes or 0.0) > 0.0 else "noted"


def placed(finding: Finding, walk: HeardWalk | None) -> Finding:
    """Return the finding with the place where its searcher was at its moment."""
    if walk is None or finding.at_s is None:
        return finding
    i = int(np.clip(round(finding.at_s), 0, walk.t_s.size - 1))
    if not walk.known[i]:
        return finding
    x, y = walk.position_m[i]
    return replace(finding, position_m=(float(x), float(y)))
