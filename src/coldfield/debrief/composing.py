"""Build the document of a debriefed run."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.approach.approach import Approach
from coldfield.debrief.approach.heard_for import Heard
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.debriefing import Debriefing
from coldfield.debrief.document import (
    Alignment,
    AnchorVisit,
    DebriefDocument,
    DebriefedBurial,
    DebriefedHearing,
    DebriefedRun,
    DebriefedSearcher,
    DebriefedSite,
    DebriefedTrack,
    FluxLine,
    HeardFor,
    HearingEdge,
    HeightLines,
    MarkedPlace,
    OrderFound,
    PhaseBand,
    PlannedLane,
    ReadingLines,
    Readings,
    Scatter,
    Span,
    Survival,
    SweptCells,
    SweptShare,
    TrackPiece,
    TrackShift,
    WayToBurial,
)
from coldfield.debrief.ensemble import Middle
from coldfield.debrief.findings.counted import counted
from coldfield.debrief.findings.order_found import UsualOrder
from coldfield.debrief.findings.yardsticks import EarlierPhase, RehearsedPhase, Standard
from coldfield.debrief.ground.lanes_walked import lanes_walked
from coldfield.debrief.ground.sweep import Swept
from coldfield.debrief.hearing.lines import HearingLines
from coldfield.debrief.snow import GridSnow, Snow
from coldfield.debrief.tracks.anchors import Laid
from coldfield.debrief.tracks.track import Track
from coldfield.debrief.written import Line
from coldfield.drill.burial import Burial
from coldfield.drill.cautions import ENDING, LIMITS, RUNNING
from coldfield.drill.ground_lines import contours_round
from coldfield.drill.searcher import Searcher
from coldfield.drill.site import Site
from coldfield.message import Message, message
from coldfield.rescue import MODEL_VERSION

Floats = NDArray[np.float64]

NOTES = (
    message("note.heard_in_free_space"),
    message("note.below_3_m"),
    message("note.places_unsure"),
    message("note.elevations_not_used"),
)
ON_PLANE = message("note.snow_is_plane")
ON_GRID = message("note.snow_is_grid")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Beside:
    """What a debrief shows besides the run itself.

    `hearing` holds lines for the receiver of `hearing_searcher`, `lanes` planned lines by searcher, (k, 2),
    m. `laid` says how tracks were aligned with anchors. `bands` and `usual` come from rehearsals, `standards`
    from the instructor, `earlier` from the group's debriefs. `notes` come first; a note on a file of `files`
    has its name as the place. `zone` is the time zone of the ground.
    """

    hearing: Sequence[HearingLines] = ()
    hearing_searcher: str | None = None
    lanes: Sequence[tuple[str, Floats]] = ()
    laid: Laid | None = None
    bands: Sequence[RehearsedPhase] = ()
    usual: UsualOrder | None = None
    standards: Sequence[Standard] = ()
    earlier: Sequence[EarlierPhase] = ()
    survival: Survival | None = None
    notes: Sequence[Message] = ()
    files: Sequence[str] = ()
    zone: str | None = None


def debrief_document(
    debriefing: Debriefing, beside: Beside, *, made_by: str, simulated: bool
) -> DebriefDocument:
    """Return the document of a debrief."""
    aligned, drill, swept = debriefing.aligned, debriefing.drill, debriefing.swept
    return DebriefDocument(
        made_by=made_by,
        model_version=MODEL_VERSION,
        title=drill.name,
        simulated=simulated,
        run=_run(debriefing, beside),
        alignment=None if beside.laid is None else _alignment(beside.laid, aligned.zero_unix_s),
        site=_site(drill.site, debriefing.terrain),
        burials=tuple(_burial(b, debriefing) for b in drill.burials),
        searchers=tuple(_searcher(s, debriefing) for s in drill.searchers),
        digs=tuple(debriefing.digs),
        nobodys_phases=tuple(debriefing.nobodys),
        unknown_phases=tuple(debriefing.unknown),
        lanes=tuple(PlannedLane(searcher=who, line_m=_line(line)) for who, line in beside.lanes),
        lanes_walked=tuple(
            lanes_walked(beside.lanes, debriefing.walks, debriefing.phases, debriefing.terrain)
        ),
        hearing=_hearing(beside),
        flux_lines=tuple(_flux_lines(debriefing)),
        swept=None if swept is None else _cells(swept),
        swept_fraction=None if swept is None else float(swept.fraction),
        swept_fraction_uncertainty=None if swept is None else float(swept.fraction_uncertainty),
        overlap_fraction=None if swept is None else float(swept.overlap_fraction),
        swept_by=() if swept is None else _shares(swept),
        gaps=() if swept is None else swept.gaps,
        order=OrderFound(found=tuple(debriefing.order), rehearsed=beside.usual),
        bands=tuple(_band(one) for one in beside.bands),
        standards=tuple(beside.standards),
        earlier=tuple(beside.earlier),
        survival=beside.survival,
        splits=aligned.splits.rows,
        findings=tuple(debriefing.findings),
        observed=counted(debriefing.findings),
        cautions=(*RUNNING, *ENDING, *LIMITS),
    )


def _run(debriefing: Debriefing, beside: Beside) -> DebriefedRun:
    aligned = debriefing.aligned
    alarm = aligned.alarm_unix_s
    return DebriefedRun(
        alarm_utc=None if alarm is None else _utc(alarm),
        time_zero=aligned.zero,
        zero_utc=_utc(aligned.zero_unix_s) if aligned.dated else None,
        end_s=float(aligned.end_s),
        strip_width_m=debriefing.strip_width_m,
        zone=beside.zone,
        alarm_from=None if alarm is None else "run" if aligned.alarm_from_run else "split",
        splits_shift_s=float(aligned.splits_shift_s),
        splits_shift_from=aligned.splits_shift_from,
        splits_shift_uncertainty_s=float(aligned.splits.uncertainty_s),
        splits_clock_checked=aligned.splits.checked,
        notes=(*aligned.notes, *beside.notes, *_notes(debriefing)),
        files=tuple(beside.files),
    )


def _notes(debriefing: Debriefing) -> tuple[Message, ...]:
    """Return the notes that apply to every debrief with tracks; without a track there are none."""
    if not debriefing.aligned.tracks:
        return ()
    return (*NOTES, ON_GRID if isinstance(debriefing.terrain, GridSnow) else ON_PLANE)


def _utc(unix_s: float) -> str:
    moment = datetime.fromtimestamp(round(unix_s, 3), UTC)
    return moment.isoformat(timespec="milliseconds" if moment.microsecond else "seconds").replace(
        "+00:00", "Z"
    )


def _line(line: Any, digits: int = 2) -> Line:
    """Return the rounded points of a line of finite places, (k, 2), m."""
    rounded = np.round(np.asarray(line, dtype=np.float64), digits)
    return tuple((east, north) for east, north in rounded.tolist())


def _alignment(laid: Laid, zero_unix_s: float) -> Alignment:
    rotation, doubt = laid.rotation_rad, laid.rotation_doubt_rad
    return Alignment(
        visits=tuple(
            AnchorVisit(
                searcher=one.searcher,
                anchor=one.anchor,
                start_s=one.start_unix_s - zero_unix_s,
                end_s=one.end_unix_s - zero_unix_s,
                offset_m=one.offset_m,
            )
            for one in laid.visits
        ),
        shifts=tuple(TrackShift(searcher=who, shift_m=shift) for who, shift in laid.shift_m.items()),
        rotation_deg=None if rotation is None else float(np.degrees(rotation)),
        rotation_uncertainty_deg=None if doubt is None else float(np.degrees(doubt)),
        rotation_removed=laid.rotation_removed,
        residual_m=laid.residual_m,
    )


def _site(site: Site, snow: Snow) -> DebriefedSite:
    heights = contours_round(snow.grid, site)[1] if isinstance(snow, GridSnow) else {}
    return DebriefedSite(
        boundary_m=site.boundary_m,
        holes_m=site.holes_m,
        entry_m=site.entry_m,
        last_seen_m=site.last_seen_m,
        anchors=tuple(MarkedPlace(name=one.name, position_m=one.position_m) for one in site.anchors),
        slope_deg=float(np.degrees(site.slope_rad)),
        aspect_deg=float(np.degrees(site.aspect_rad)),
        declination_deg=None if site.declination_rad is None else float(np.degrees(site.declination_rad)),
        contours=tuple(
            HeightLines(elevation_m=value, lines_m=tuple(_line(one, 1) for one in found))
            for value, found in heights.items()
        ),
    )


def _burial(burial: Burial, debriefing: Debriefing) -> DebriefedBurial:
    splits = debriefing.aligned.splits
    came = [c for mine in debriefing.approaches.values() for c in mine if c.burial == burial.id]
    first = min(came, key=lambda c: c.fine.t_s, default=None)
    found_by = splits.who("probe_strike", burial.id) or splits.who("lowest_reading", burial.id)
    has_set = burial.transmitter is not None
    return DebriefedBurial(
        id=burial.id,
        position_m=burial.position_m,
        depth_m=burial.depth_m,
        azimuth_deg=float(np.degrees(burial.antenna.azimuth_rad)) if has_set else None,
        tilt_deg=float(np.degrees(burial.antenna.tilt_rad)) if has_set else None,
        has_set=has_set,
        outline=burial.outline,
        struck_s=splits.first("probe_strike", burial=burial.id),
        clear_s=splits.first("airway_clear", burial=burial.id),
        found_by=found_by or (first.searcher if first is not None else None),
    )


def _searcher(searcher: Searcher, debriefing: Debriefing) -> DebriefedSearcher:
    who = searcher.id
    walk, track = debriefing.walks.get(who), debriefing.aligned.tracks.get(who)
    ids, idle = debriefing.sources.ids, debriefing.idle.get(who)
    readings: tuple[Readings, ...] = ()
    audible: tuple[HeardFor, ...] = ()
    if walk is not None:
        readings = tuple(_readings(burial, walk, k) for k, burial in enumerate(ids))
        heard = debriefing.heard.get(who, {})
        audible = tuple(_heard_for(b.id, heard.get(b.id)) for b in debriefing.drill.burials)
    return DebriefedSearcher(
        id=who,
        name=searcher.name,
        track=None if track is None or walk is None else _track(track, walk, debriefing.length_m.get(who)),
        readings=readings,
        audible=audible,
        phases=tuple(debriefing.phases.get(who, ())),
        approaches=tuple(_way(one) for one in debriefing.approaches.get(who, ())),
        idle=tuple(Span(start_s=a, end_s=b) for a, b in idle.spans) if idle is not None else (),
    )


def _readings(burial: str, walk: HeardWalk, k: int) -> Readings:
    """Return readings to a tenth of a metre."""
    shown = np.round(walk.reading_m[walk.known, k], 1).astype(object)
    shown[~np.isfinite(walk.reading_m[walk.known, k])] = None
    return Readings(burial=burial, t_s=tuple(walk.t_s[walk.known].tolist()), reading_m=tuple(shown.tolist()))


def _heard_for(burial: str, heard: Heard | None) -> HeardFor:
    if heard is None:
        return HeardFor(burial=burial, seconds=0, uncertainty_s=0.0)
    since = heard.from_s
    return HeardFor(
        burial=burial,
        seconds=round(heard.seconds.value),
        uncertainty_s=heard.seconds.uncertainty,
        from_s=None if since is None else since.value,
        from_uncertainty_s=None if since is None else since.uncertainty,
    )


def _way(one: Approach) -> WayToBurial:
    return WayToBurial(
        burial=one.burial,
        audible_s=None if one.audible is None else one.audible.t_s,
        audible_uncertainty_s=None if one.audible is None else one.audible.uncertainty_s,
        turn_s=one.turn.t_s,
        turn_uncertainty_s=one.turn.uncertainty_s,
        reading_3_m_s=one.fine.t_s,
        reading_3_m_uncertainty_s=one.fine.uncertainty_s,
        side_distance_m=one.side_distance_m,
        flux_line_ratio_uncertainty=one.ratio_uncertainty,
        speed_above_10_m_s=one.above_10_m_s,
        speed_below_10_m_s=one.below_10_m_s,
        accuracy_m=one.accuracy_m,
    )


def _track(track: Track, walk: HeardWalk, length: Middle | None) -> DebriefedTrack:
    at = np.flatnonzero(walk.known)
    pieces = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
    return DebriefedTrack(
        points=track.points,
        seconds=track.seconds,
        length_m=track.length_m if length is None else length.value,
        length_uncertainty_m=None if length is None else length.uncertainty,
        raw_length_m=track.raw_length_m,
        accuracy_m=track.accuracy_m,
        white_m=track.white_m,
        bias_m=track.bias_m,
        file=track.file,
        clock_shift_s=track.shift_s if track.clock == "utc" else 0.0,
        notes=track.notes,
        pieces=tuple(
            TrackPiece(t_s=tuple(walk.t_s[one].tolist()), position_m=_line(walk.position_m[one]))
            for one in pieces
            if one.size
        ),
    )


def _hearing(beside: Beside) -> DebriefedHearing:
    lines = beside.hearing
    return DebriefedHearing(
        searcher=beside.hearing_searcher,
        words=message("note.weakest_set"),
        contours=tuple(
            ReadingLines(burial=one.burial, reading_m=one.reading_m, lines_m=_lines(one))
            for one in lines
            if one.reading_m is not None
        ),
        audible=tuple(
            HearingEdge(burial=one.burial, lines_m=_lines(one)) for one in lines if one.reading_m is None
        ),
    )


def _lines(lines: HearingLines) -> tuple[Line, ...]:
    return tuple(_line(one, 1) for one in lines.lines_m)


def _flux_lines(debriefing: Debriefing) -> Iterator[FluxLine]:
    for approaches in debriefing.approaches.values():
        for one in approaches:
            if one.flux_line is not None:
                yield FluxLine(
                    burial=one.burial,
                    searcher=one.searcher,
                    line_m=_line(one.flux_line.line_m),
                    length_m=one.flux_line.length_m,
                )


def _cells(swept: Swept) -> SweptCells:
    rows, columns = swept.ground.shape
    return SweptCells(
        cell_m=swept.cell_m,
        origin_m=swept.origin_m,
        columns=columns,
        rows=rows,
        runs=tuple(swept.runs()),
    )


def _shares(swept: Swept) -> tuple[SweptShare, ...]:
    return tuple(SweptShare(searcher=who, fraction=share) for who, share in swept.by_searcher.items())


def _band(band: RehearsedPhase) -> PhaseBand:
    scatter = band.scatter_s
    return PhaseBand(
        phase=band.phase,
        burial=band.burial,
        p10=band.p10_s,
        p50=band.p50_s,
        p90=band.p90_s,
        runs=band.runs,
        scatter=None if scatter is None else Scatter(p10=scatter[0], p90=scatter[1]),
    )
