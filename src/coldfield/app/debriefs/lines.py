"""A debrief in lines for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coldfield.debrief.document import DebriefDocument, DebriefedSearcher, OrderFound
from coldfield.debrief.findings.finding import duration
from coldfield.debrief.phases.from_splits import UnknownPhase

NO_TRACK = (
    "No track was recorded: walked lines, swept ground, the flux line and the replay are left out; "
    "the minutes come from the splits."
)


def debrief_words(document: DebriefDocument) -> Iterator[str]:
    """Yield the lines that `coldfield debrief` prints: findings first, then phases, ground, notes."""
    yield f"{document.title}: {duration(document.run.end_s)} from the {document.run.time_zero}"
    if document.simulated:
        yield "made in the computer: no one walked this"
    tracks = any(searcher.track is not None for searcher in document.searchers)
    if not tracks:
        yield NO_TRACK
    yield from _findings(document)
    for searcher in document.searchers:
        if tracks or searcher.phases:
            yield from _person(searcher, tracks=tracks)
    if document.nobodys_phases:
        nobody = DebriefedSearcher(id="", name="nobody named", phases=document.nobodys_phases)
        yield from _person(nobody, tracks=False)
    yield from _unknown(document.unknown_phases)
    yield from _order(document.order)
    if document.swept_fraction is not None:
        width = document.run.strip_width_m
        yield f"swept: {100 * document.swept_fraction:.0f} % of the ground, strips of {width:.0f} m"
        for gap in document.gaps[:5]:
            x, y = gap.position_m
            how = "" if gap.exceeds_accuracy else ", no wider than the tracks are unsure"
            size = f"{gap.area_m2:.0f} m2, up to {gap.width_m:.0f} m wide"
            yield f"  gap at ({x:.0f}, {y:.0f}): {size}{how}"
    for burial in document.survival.burials if document.survival else ():
        span = f"{burial.low:.2f} to {burial.high:.2f}"
        yield f"{burial.burial}: survival by the published curves {span}"
    for note in document.run.notes:
        yield f"note: {note}"


def _findings(document: DebriefDocument) -> Iterator[str]:
    if not document.findings:
        yield "nothing stands out beyond what the times and places are unsure by"
    for number, finding in enumerate(document.findings, start=1):
        cost = f" [{duration(60 * finding.minutes)}]" if finding.minutes else ""
        yield f"{number}. {finding.text}{cost} ({finding.confidence})"


def _order(order: OrderFound | None) -> Iterator[str]:
    if order is not None and len(order.found) > 1:
        together = " (about when the next was)"
        line = ", ".join(one.burial + ("" if one.sure else together) for one in order.found)
        usual = order.rehearsed
        if usual is not None:
            share = f"{100 * usual.share:.0f} % of {usual.runs} rehearsals"
            line += f"; in {share}: {', '.join(usual.burials)}"
        yield f"reached in this order: {line}"


def _unknown(phases: Sequence[UnknownPhase]) -> Iterator[str]:
    for burial in dict.fromkeys(one.burial for one in phases):
        mine = [one for one in phases if one.burial == burial]
        missing = dict.fromkeys(word for one in mine for word in one.missing)
        lacks = "its splits do not fit together, or name nobody"
        if missing:
            lacks = f"no split {', '.join(word.replace('_', ' ') for word in missing)}"
        yield f"unknown at {burial}: {', '.join(one.phase for one in mine)} ({lacks})"


def _person(searcher: DebriefedSearcher, *, tracks: bool) -> Iterator[str]:
    track = searcher.track if tracks else None
    if not tracks:
        yield f"{searcher.name}:"
    elif track is None:
        yield f"{searcher.name}: no track"
    else:
        yield (
            f"{searcher.name}: {track.length_m:.0f} m in {duration(track.seconds)}, "
            f"places unsure by {track.accuracy_m:.1f} m"
        )
    for phase in searcher.phases:
        line = f"  {phase.phase:<7}{duration(phase.end_s - phase.start_s):>13}"
        if (phase.border_uncertainty_s or 0.0) >= 0.5:
            line += f" (within {phase.border_uncertainty_s:.0f} s)"
        if phase.burial:
            line += f" to {phase.burial}"
        if phase.flux_line_ratio is not None:
            line += f", {phase.flux_line_ratio:.2f} x the flux line"
        yield line
