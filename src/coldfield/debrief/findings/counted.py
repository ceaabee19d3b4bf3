"""Observations of a run, and how often each was seen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from coldfield.debrief.findings.finding import Finding
from coldfield.debrief.written import OrZeroCount, Said, Written
from coldfield.message import Message, verbatim

_NOT_SEEN = ("observation.not_seen", "observation.not_seen_noted")


@dataclass(frozen=True, slots=True, kw_only=True)
class ObservedCount(Written):
    """How often one thing was seen and not seen in a run; a note without yes or no counts as seen."""

    about: Said
    seen: OrZeroCount = 0
    not_seen: OrZeroCount = 0


def counted(findings: Iterable[Finding]) -> tuple[ObservedCount, ...]:
    """Return the counted observations of a run, in the order of their first occurrence."""
    found: dict[str, ObservedCount] = {}
    for one in findings:
        if one.kind != "observation":
            continue
        about = one.text.values.get("about", one.text)
        key = about if isinstance(about, Message | str) else str(about)
        kept = found.get(_key(key)) or ObservedCount(about=verbatim(key) if isinstance(key, str) else key)
        missed = one.text.code in _NOT_SEEN
        found[_key(key)] = replace(kept, seen=kept.seen + (not missed), not_seen=kept.not_seen + missed)
    return tuple(found.values())


def _key(about: Message | str) -> str:
    """Return a key under which a person's own words are counted regardless of case and spaces."""
    return about.casefold().strip() if isinstance(about, str) else repr(about)
