"""The debrief as one plain object: what `--json` prints and what the page shows.

Times in s of the run, positions [east, north] in m in plan, lengths on the snow, every number finite.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any

import numpy as np

from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.debriefing import Debriefing
from coldfield.debrief.findings.of_run import Finding
from coldfield.debrief.findings.order_found import Reached, UsualOrder
from coldfield.debrief.findings.yardsticks import Band, Standard
from coldfield.debrief.ground.gaps import Gap
from coldfield.debrief.ground.lanes_walked import lanes_walked
from coldfield.debrief.hearing.lines import HearingLines
from coldfield.debrief.json_values import Plain, finite, points, shown_readings
from coldfield.debrief.snow import GridSnow
from coldfield.debrief.tracks.anchors import Laid
from coldfield.debrief.tracks.track import Track
from coldfield.drill.burial import Burial
from coldfield.drill.cautions import ENDING, LIMITS, RUNNING
from coldfield.drill.searcher import Searcher
from coldfield.rescue import MODEL_VERSION
from coldfield.words import say

FORMAT = "coldfield-debrief/1"

NOTES = (
    "hearing is worked out in free space, every set by itself, held level, without chance",
    "below a reading of 3 m only splits tell what happened",
    "a track's places are unsure on each axis by the accuracy stated with it: an error that drifts "
    "and that smoothing does not lower",
    "recorded elevations are not used",
)
ON_PLANE = "the snow is the drill's plane"
ON_GRID = (
    "the snow is the elevation grid given; areas are told in plan, stretched by the slope of its mean plane"
)


def debrief_document(
    debriefing: Debriefing,
    *,
    made_by: str,
    simulated: bool,
    hearing: Sequence[HearingLines] = (),
    hearing_searcher: str | None = None,
    lanes: Sequence[tuple[str, Any]] = (),
    laid: Laid | None = None,
    bands: Sequence[Band] = (),
    standards: Sequence[Standard] = (),
    earlier: Sequence[Mapping[str, Any]] = (),
    survival: Mapping[str, Any] | None = None,
    usual: UsualOrder | None = None,
    notes: Sequence[str] = (),
    files: Sequence[str] = (),
) -> dict[str, Any]:
    """Return the whole debrief as plain lists and dicts, ready for JSON.

    A note about one of the `files`, used or left out, begins with its name and a colon.
    """
    aligned, drill = debriefing.aligned, debriefing.drill
    alarm = aligned.alarm_unix_s
    document = {
        "format": FORMAT,
        "made_by": made_by,
        "model_version": MODEL_VERSION,
        "title": drill.name,
        "simulated": simulated,
        "run": {
            "alarm_utc": None if alarm is None else _utc(alarm),
            "time_zero": aligned.zero,
            "zero_utc": _utc(aligned.zero_unix_s) if aligned.dated else None,
            "end_s": aligned.end_s,
            "strip_width_m": debriefing.strip_width_m,
            "splits_shift_s": aligned.splits_shift_s,
            "splits_shift_from": aligned.splits_shift_from,
            "splits_shift_uncertainty_s": aligned.splits.uncertainty_s,
            "splits_clock_checked": aligned.splits.checked,
            "notes": [*aligned.notes, *notes, *_notes(debriefing)],
            "files": list(files),
        },
        "alignment": _alignment(laid, aligned.zero_unix_s),
        "site": _site(debriefing),
        "burials": [_burial(b, debriefing) for b in drill.burials],
        "searchers": [_searcher(s, debriefing) for s in drill.searchers],
        "nobodys_phases": [asdict(p) for p in debriefing.nobodys],
        "unknown_phases": [asdict(one) for one in debriefing.unknown],
        "lanes": [{"searcher": who, "line_m": points(line)} for who, line in lanes],
        "lanes_walked": [
            {
                "searcher": one.searcher,
                "planned_m": one.planned_m,
                "walked_m": one.walked_m,
                "off_lane_m": one.off_lane_m,
            }
            for one in lanes_walked(lanes, debriefing.walks, debriefing.phases, debriefing.terrain)
        ],
        "hearing": _hearing(hearing, hearing_searcher),
        "flux_lines": [
            {
                "burial": c.burial,
                "searcher": c.searcher,
                "line_m": points(c.flux_line.line_m),
                "length_m": c.flux_line.length_m,
            }
            for approaches in debriefing.approaches.values()
            for c in approaches
            if c.flux_line is not None
        ],
        **_ground(debriefing),
        "order": _order(debriefing.order, usual),
        "bands": [
            {
                "phase": b.phase,
                "burial": b.burial,
                "p10": b.p10_s,
                "p50": b.p50_s,
                "p90": b.p90_s,
                "runs": b.runs,
                "scatter": None if b.scatter_s is None else {"p10": b.scatter_s[0], "p90": b.scatter_s[1]},
            }
            for b in bands
        ],
        "standards": [{"what": s.what, "most_s": s.most_s} for s in standards],
        "earlier": [dict(one) for one in earlier],
        "survival": dict(survival) if survival is not None else None,
        "splits": [
            {"t_s": r.t_s, "searcher": r.searcher, "burial": r.burial, "split": r.split, "note": r.note}
            for r in aligned.splits.rows
        ],
        "findings": [finding_json(f) for f in debriefing.findings],
        "cautions": [say(one) for one in (*RUNNING, *ENDING, *LIMITS)],
    }
    return finite(document)  # type: ignore[no-any-return]


def _notes(debriefing: Debriefing) -> tuple[str, ...]:
    """What every debrief of tracks rests on; without a track none of it matters."""
    if not debriefing.aligned.tracks:
        return ()
    return (*NOTES, ON_GRID if isinstance(debriefing.terrain, GridSnow) else ON_PLANE)


def _order(order: Sequence[Reached], usual: UsualOrder | None) -> dict[str, Any]:
    told = None
    if usual is not None:
        told = {"burials": list(usual.burials), "share": usual.share, "runs": usual.runs}
    return {"found": [asdict(one) for one in order], "rehearsed": told}


def finding_json(finding: Finding) -> dict[str, Any]:
    """Return one finding as a plain object."""
    return {
        "kind": finding.kind,
        "text": finding.text,
        "numbers": dict(finding.numbers),
        "searcher": finding.searcher,
        "burial": finding.burial,
        "at_s": finding.at_s,
        "position_m": None if finding.position_m is None else list(finding.position_m),
        "minutes": finding.minutes,
        "confidence": finding.confidence,
        "praise": finding.praise,
    }


def _alignment(laid: Laid | None, zero_unix_s: float) -> dict[str, Any] | None:
    if laid is None:
        return None
    rotation, doubt = laid.rotation_rad, laid.rotation_doubt_rad
    return {
        "visits": [
            {
                "searcher": v.searcher,
                "anchor": v.anchor,
                "start_s": v.start_unix_s - zero_unix_s,
                "end_s": v.end_unix_s - zero_unix_s,
                "offset_m": list(v.offset_m),
            }
            for v in laid.visits
        ],
        "shifts": [{"searcher": who, "shift_m": list(shift)} for who, shift in laid.shift_m.items()],
        "rotation_deg": None if rotation is None else float(np.degrees(rotation)),
        "rotation_uncertainty_deg": None if doubt is None else float(np.degrees(doubt)),
        "rotation_removed": laid.rotation_removed,
        "residual_m": laid.residual_m,
    }


def _utc(unix_s: float) -> str:
    moment = datetime.fromtimestamp(round(unix_s, 3), UTC)
    return moment.isoformat(timespec="milliseconds" if moment.microsecond else "seconds").replace(
        "+00:00", "Z"
    )


def _site(debriefing: Debriefing) -> dict[str, Any]:
    site = debriefing.drill.site
    return {
        "boundary_m": [list(p) for p in site.boundary_m],
        "holes_m": [[list(p) for p in hole] for hole in site.holes_m],
        "entry_m": list(site.entry_m),
        "last_seen_m": None if site.last_seen_m is None else list(site.last_seen_m),
        "anchors": [{"name": a.name, "position_m": list(a.position_m)} for a in site.anchors],
        "slope_deg": float(np.degrees(site.slope_rad)),
        "aspect_deg": float(np.degrees(site.aspect_rad)),
        "declination_deg": None if site.declination_rad is None else float(np.degrees(site.declination_rad)),
    }


def _burial(burial: Burial, debriefing: Debriefing) -> dict[str, Any]:
    splits = debriefing.aligned.splits
    chased = [c for approaches in debriefing.approaches.values() for c in approaches if c.burial == burial.id]
    first = min(chased, key=lambda c: c.fine.t_s, default=None)
    found_by = splits.who("probe_strike", burial.id) or splits.who("lowest_reading", burial.id)
    has_set = burial.transmitter is not None
    return {
        "id": burial.id,
        "position_m": list(burial.position_m),
        "depth_m": burial.depth_m,
        "azimuth_deg": float(np.degrees(burial.antenna.azimuth_rad)) if has_set else None,
        "tilt_deg": float(np.degrees(burial.antenna.tilt_rad)) if has_set else None,
        "has_set": has_set,
        "outline": burial.outline,
        "struck_s": splits.first("probe_strike", burial=burial.id),
        "clear_s": splits.first("airway_clear", burial=burial.id),
        "found_by": found_by or (first.searcher if first is not None else None),
    }


def _searcher(searcher: Searcher, debriefing: Debriefing) -> dict[str, Any]:
    who = searcher.id
    walk, track = debriefing.walks.get(who), debriefing.aligned.tracks.get(who)
    ids = debriefing.sources.ids
    readings, audible = [], []
    if walk is not None:
        for k, burial in enumerate(ids):
            shown = walk.reading_m[walk.known, k]
            readings.append(
                {
                    "burial": burial,
                    "t_s": Plain(walk.t_s[walk.known].tolist()),
                    "reading_m": shown_readings(shown),
                }
            )
        audible = [
            _audible(b.id, walk, ids, debriefing.audible_doubt_s[who]) for b in debriefing.drill.burials
        ]
    return {
        "id": who,
        "name": searcher.name,
        "track": None if track is None or walk is None else _track(track, walk, debriefing),
        "readings": readings,
        "audible": audible,
        "phases": [asdict(p) for p in debriefing.phases.get(who, ())],
        "approaches": [
            {
                "burial": c.burial,
                "audible_s": None if c.audible is None else c.audible.t_s,
                "audible_uncertainty_s": None if c.audible is None else c.audible.uncertainty_s,
                "turn_s": c.turn.t_s,
                "turn_uncertainty_s": c.turn.uncertainty_s,
                "reading_3_m_s": c.fine.t_s,
                "reading_3_m_uncertainty_s": c.fine.uncertainty_s,
                "side_distance_m": c.side_distance_m,
                "flux_line_ratio_uncertainty": c.ratio_uncertainty,
                "speed_above_10_m_s": c.above_10_m_s,
                "speed_below_10_m_s": c.below_10_m_s,
                "accuracy_m": c.accuracy_m,
            }
            for c in debriefing.approaches.get(who, ())
        ],
        "idle": [{"start_s": a, "end_s": b} for a, b in debriefing.idle.get(who, ())],
    }


def _audible(burial: str, walk: HeardWalk, ids: tuple[str, ...], doubt_s: Any) -> dict[str, Any]:
    if burial not in ids:
        return {"burial": burial, "seconds": 0, "uncertainty_s": 0.0}
    k = ids.index(burial)
    return {
        "burial": burial,
        "seconds": int(walk.audible[:, k].sum()),
        "uncertainty_s": float(doubt_s[k]),
    }


def _track(track: Track, walk: HeardWalk, debriefing: Debriefing) -> dict[str, Any]:
    pieces = []
    at = np.flatnonzero(walk.known)
    for run in np.split(at, np.flatnonzero(np.diff(at) > 1) + 1):
        if run.size:
            pieces.append({"t_s": Plain(walk.t_s[run].tolist()), "position_m": points(walk.position_m[run])})
    return {
        "points": track.points,
        "seconds": track.seconds,
        "length_m": track.length_m,
        "raw_length_m": track.raw_length_m,
        "accuracy_m": track.accuracy_m,
        "white_m": track.white_m,
        "bias_m": track.bias_m,
        "file": track.file,
        "clock_shift_s": track.shift_s if track.clock == "utc" else 0.0,
        "notes": list(track.notes),
        "pieces": pieces,
    }


def _hearing(lines: Sequence[HearingLines], searcher: str | None) -> dict[str, Any]:
    return {
        "searcher": searcher,
        "words": "weakest set of the group",
        "contours": [
            {
                "burial": one.burial,
                "reading_m": one.reading_m,
                "lines_m": [points(line, 1) for line in one.lines_m],
            }
            for one in lines
            if one.reading_m is not None
        ],
        "audible": [
            {"burial": one.burial, "lines_m": [points(line, 1) for line in one.lines_m]}
            for one in lines
            if one.reading_m is None
        ],
    }


def _ground(debriefing: Debriefing) -> dict[str, Any]:
    swept = debriefing.swept
    if swept is None:
        return {
            "swept": None,
            "swept_fraction": None,
            "swept_fraction_uncertainty": None,
            "overlap_fraction": None,
            "swept_by": [],
            "gaps": [],
        }
    rows, columns = swept.ground.shape
    return {
        "swept": {
            "cell_m": swept.cell_m,
            "origin_m": list(swept.origin_m),
            "columns": int(columns),
            "rows": int(rows),
            "runs": swept.runs(),
        },
        "swept_fraction": swept.fraction,
        "swept_fraction_uncertainty": swept.fraction_uncertainty,
        "overlap_fraction": swept.overlap_fraction,
        "swept_by": [{"searcher": who, "fraction": share} for who, share in swept.by_searcher.items()],
        "gaps": [gap_json(gap) for gap in swept.gaps],
    }


def gap_json(gap: Gap) -> dict[str, Any]:
    """Return one gap as a plain object."""
    return {
        "position_m": list(gap.position_m),
        "area_m2": gap.area_m2,
        "width_m": gap.width_m,
        "exceeds_accuracy": gap.exceeds_accuracy,
        "enclosed": gap.enclosed,
        "surely": gap.surely,
        "ring_m": [list(point) for point in gap.ring_m],
    }
