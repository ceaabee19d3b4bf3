"""A debrief as lines of text, in the current language."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coldfield.debrief.clocks.align import FROM_ALARM, FROM_SPLIT, FROM_TRACK
from coldfield.debrief.document import DebriefDocument, DebriefedSearcher, OrderFound
from coldfield.debrief.findings.finding import Finding
from coldfield.debrief.phases.from_splits import UnknownPhase
from coldfield.debrief.phases.phase import Phase
from coldfield.files.split_names import split_name
from coldfield.message import area, duration, length, message, number, share, times
from coldfield.words import say, word

_FROM = {
    FROM_ALARM: "command.debrief.from_alarm",
    FROM_TRACK: "command.debrief.from_track",
    FROM_SPLIT: "command.debrief.from_split",
}
_PHASES = {
    "signal": "phase.signal",
    "coarse": "phase.coarse",
    "fine": "phase.fine",
    "probe": "phase.probe",
    "dig": "phase.dig",
}
_GROUPS = {"cost": "findings.group.cost", "good": "findings.group.good", "noted": "findings.group.noted"}
_GAPS = {True: "command.debrief.gap", False: "command.debrief.gap_unsure"}
UNKNOWN = float("nan")
MOST_GAPS = 5


def debrief_words(document: DebriefDocument) -> Iterator[str]:
    """Yield the lines that `coldfield debrief` prints: findings first, then phases, ground, notes."""
    if document.splits or any(searcher.track for searcher in document.searchers):
        yield word(_FROM[document.run.time_zero], title=document.title, time=duration(document.run.end_s))
    else:
        yield word("command.debrief.observations_alone", title=document.title)
    if document.simulated:
        yield word("command.debrief.simulated")
    tracks = any(searcher.track is not None for searcher in document.searchers)
    if not tracks and document.splits:
        yield word("command.debrief.no_track")
    yield from _findings(document)
    yield from _observed(document)
    for searcher in document.searchers:
        if tracks or searcher.phases:
            yield from _person(searcher, tracks=tracks)
    if document.nobodys_phases:
        named = word("command.debrief.nobody_named")
        yield from _person(DebriefedSearcher(id="", name=named, phases=document.nobodys_phases), tracks=False)
    yield from _unknown(document.unknown_phases)
    yield from _order(document.order)
    yield from _ground(document)
    for burial in document.survival.burials if document.survival else ():
        low, high = number(_known(burial.low), 2), number(_known(burial.high), 2)
        yield word("command.debrief.survival", burial=burial.burial, low=low, high=high)
    for note in document.run.notes:
        yield word("command.debrief.note", note=note)


def _known(value: float | None) -> float:
    return UNKNOWN if value is None else value


def _ground(document: DebriefDocument) -> Iterator[str]:
    if document.swept_fraction is None:
        return
    width = length(_known(document.run.strip_width_m), 0)
    yield word("command.debrief.swept", share=share(document.swept_fraction), width=width)
    for gap in [one for one in document.gaps if one.needed][:MOST_GAPS]:
        east, north = gap.position_m
        yield word(
            _GAPS[gap.exceeds_accuracy],
            east=number(east, 0),
            north=number(north, 0),
            area=area(gap.area_m2),
            width=length(gap.width_m, 0),
        )


def _observed(document: DebriefDocument) -> Iterator[str]:
    """Yield what the debrief looked for, with counts."""
    if not document.observed:
        return
    counts = tuple(
        message("observation.count", about=one.about, seen=one.seen, n=one.seen + one.not_seen)
        for one in document.observed
    )
    yield word("command.debrief.observed", counts=counts)


def _findings(document: DebriefDocument) -> Iterator[str]:
    """Yield the findings, group by group, each with what to practise."""
    if not document.findings:
        yield word("command.debrief.no_finding")
    group = None
    for place, one in enumerate(document.findings, start=1):
        if one.of_group() != group:
            group = one.of_group()
            yield word(_GROUPS[group])
        yield from _finding(place, one)


def _finding(place: int, one: Finding) -> Iterator[str]:
    """Yield one finding and its exercise."""
    if one.minutes:
        yield word(
            "command.debrief.finding_cost",
            number=place,
            text=one.text,
            cost=duration(60 * one.minutes),
            confidence=one.confidence,
        )
    else:
        yield word("command.debrief.finding", number=place, text=one.text, confidence=one.confidence)
    if one.exercise is not None:
        yield "   " + word("command.debrief.practise", text=one.exercise.practise, source=one.exercise.source)


def _order(order: OrderFound | None) -> Iterator[str]:
    if order is None or len(order.found) < 2:
        return
    burials = tuple(
        one.burial if one.sure else message("command.debrief.about_when", burial=one.burial)
        for one in order.found
    )
    usual = order.rehearsed
    if usual is None:
        yield word("command.debrief.reached", burials=burials)
    else:
        yield word(
            "command.debrief.reached_usual",
            burials=burials,
            share=share(usual.share),
            n=usual.runs,
            usual=usual.burials,
        )


def _unknown(phases: Sequence[UnknownPhase]) -> Iterator[str]:
    for burial in dict.fromkeys(one.burial for one in phases):
        mine = [one for one in phases if one.burial == burial]
        names = tuple(message(_PHASES[one.phase]) for one in mine)
        missing = tuple(map(split_name, dict.fromkeys(split for one in mine for split in one.missing)))
        if missing:
            yield word("command.debrief.unknown_missing", burial=burial, phases=names, splits=missing)
        else:
            yield word("command.debrief.unknown_unclear", burial=burial, phases=names)


def _person(searcher: DebriefedSearcher, *, tracks: bool) -> Iterator[str]:
    track = searcher.track if tracks else None
    if not tracks:
        yield word("command.debrief.person", name=searcher.name)
    elif track is None:
        yield word("command.debrief.person_no_track", name=searcher.name)
    else:
        yield word(
            "command.debrief.person_track",
            name=searcher.name,
            length=length(_known(track.length_m), 0),
            time=duration(track.seconds),
            accuracy=length(_known(track.accuracy_m), 1),
        )
    for phase in searcher.phases:
        yield _phase(phase)


def _phase(phase: Phase) -> str:
    """Return a phase in columns: its name, how long it took, and what else is known."""
    took = say(message("command.debrief.took", time=duration(phase.end_s - phase.start_s)))
    room = 1 + max(len(word(code)) for code in _PHASES.values())
    line = f"  {word(_PHASES[phase.phase]):<{room}}{took:>13}"
    doubt_s = phase.border_uncertainty_s or 0.0
    if doubt_s >= 0.5:
        line += " " + word("command.debrief.within", doubt=duration(doubt_s))
    if phase.burial:
        line += " " + word("command.debrief.to_burial", burial=phase.burial)
    if phase.flux_line_ratio is not None:
        line += ", " + word("command.debrief.of_flux_line", ratio=times(phase.flux_line_ratio, 2))
    return line
