"""The splits with a fixed meaning, and the names that people write for them."""

from __future__ import annotations

from functools import cache

from coldfield.drill.run import SPLIT_KINDS
from coldfield.message import Message, message
from coldfield.words import languages, say

_CALLED: dict[str, Message] = {
    "alarm": message("split.alarm"),
    "first_signal": message("split.first_signal"),
    "within_10_m": message("split.within_10_m"),
    "lowest_reading": message("split.lowest_reading"),
    "probe_strike": message("split.probe_strike"),
    "airway_clear": message("split.airway_clear"),
    "set_out": message("split.set_out"),
    "observation": message("split.observation"),
}

SHORT: dict[str, str] = {
    "strike": "probe_strike",
    "struck": "probe_strike",
    "probe_hit": "probe_strike",
    "hit": "probe_strike",
    "signal": "first_signal",
    "10_m": "within_10_m",
    "lowest": "lowest_reading",
    "airway": "airway_clear",
    "airways_clear": "airway_clear",
    "airway_free": "airway_clear",
}
"""Shorter names in use on stopwatch sheets. Common practice."""


def split_called(name: str) -> str:
    """Return the split for a name in any language; people's own words stay as they are.

    Examples
    --------
    >>> split_called("Probe strike"), split_called("strike"), split_called("probes ready")
    ('probe_strike', 'probe_strike', 'probes ready')
    """
    return _names().get(_folded(name), name)


def split_name(split: str) -> Message | str:
    """Return the name of a split; people's own words stay as they are."""
    return _CALLED.get(split, split)


def _folded(name: str) -> str:
    return "_".join(name.casefold().replace("-", " ").replace("_", " ").split())


@cache
def _names() -> dict[str, str]:
    names = dict(SHORT)
    for tag in languages():
        names |= {_folded(say(said, tag)): split for split, said in _CALLED.items()}
    return names | {kind: kind for kind in (*SPLIT_KINDS, "observation")}
