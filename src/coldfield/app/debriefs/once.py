"""The phases of a debrief without repeats."""

from __future__ import annotations

from collections.abc import Collection

from coldfield.debrief.document import DebriefDocument
from coldfield.debrief.phases.phase import Phase


def phases_once(document: DebriefDocument, searchers: Collection[str]) -> tuple[Phase, ...]:
    """Return the phases of some people; a digging phase appears once, however many people dug."""
    mine = [one for one in document.searchers if one.id in searchers]
    phases = [p for one in mine for p in one.phases if p.phase != "dig" or not document.digs]
    for dig in document.digs:
        if any(helper.searcher in searchers for helper in dig.helpers):
            phases.append(Phase(burial=dig.burial, phase="dig", start_s=dig.start_s, end_s=dig.end_s))
    return tuple(phases)
