"""One statement of a debrief, and the words that all of them use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated

import numpy as np

from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.written import Number, OrFalse, Point, Word, Words, Written, or_else


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Written):
    """One statement: what, in words and numbers, who, at which burial, when, where, at what cost.

    `minutes` is what it cost, None where it has no such figure; `confidence` says in words how far
    the evidence carries; `praise` marks what went well.
    """

    kind: Words = ""
    text: Word
    numbers: Annotated[Mapping[str, Number | None], or_else({})] = field(default_factory=dict)
    searcher: Word | None = None
    burial: Word | None = None
    at_s: Number | None = None
    position_m: Point | None = None
    minutes: Number | None = None
    confidence: Words = "clear"
    praise: OrFalse = False


def placed(finding: Finding, walk: HeardWalk | None) -> Finding:
    """Return the finding with the place where its searcher was at its moment."""
    if walk is None or finding.at_s is None:
        return finding
    i = int(np.clip(round(finding.at_s), 0, walk.t_s.size - 1))
    if not walk.known[i]:
        return finding
    x, y = walk.position_m[i]
    return replace(finding, position_m=(float(x), float(y)))


def duration(seconds: float) -> str:
    """Return a span of time in words.

    Examples
    --------
    >>> duration(42.4), duration(185)
    ('42 s', '3 min 5 s')
    """
    whole = round(seconds)
    return f"{whole} s" if whole < 60 else f"{whole // 60} min {whole % 60} s"


def confidence(size: float, doubt: float) -> str:
    """Return in words how far a size stands above its doubt (nineteen cases of twenty)."""
    return "clear" if size > 2.0 * doubt else "likely"
