"""Align tracks with the plan by the marked places at which people stood."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.stretches import runs
from coldfield.debrief.tracks.lengths import interpolate, standing
from coldfield.debrief.tracks.track import BIAS_M, Piece, There, Track
from coldfield.drill.site import Anchor
from coldfield.message import Message, angle, length, message

Floats = NDArray[np.float64]

STAND_S = 30
"""Standing this long at an anchor is a visit, s. Setting."""

REACH_M = 10.0
"""A stand whose mean is farther from the anchor than this is not a visit, m. Setting."""

APART_S = 60.0
"""The least time between a visit before and one after the run, s. Setting."""

AGREE_M = 9.0
"""The most drift of a device between visits, m; with more, one was a chance stop. Setting."""

BESIDE_M = 1.0
"""Distance of people from a visited anchor on each axis, m. Setting."""

_TURNED = {True: "note.turned_back", False: "note.turned_left"}
"""The notes on a rotation that was removed, and on one that was not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A stand at an anchor: from, to (s since 1970 UTC), and the offset of the track from it, m."""

    searcher: str
    anchor: str
    start_unix_s: float
    end_unix_s: float
    offset_m: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """Tracks after alignment: the visits, the mean offsets, the rotation, and notes.

    `rotation_rad` is the clockwise rotation of the tracks relative to the plan, None unless one person
    visited two anchors. It is removed from every track if it exceeds its uncertainty (`rotation_removed`).
    `residual_m` is the root mean square of the remaining errors at the visits.
    """

    tracks: Mapping[str, Track]
    visits: tuple[Visit, ...]
    shift_m: Mapping[str, tuple[float, float]]
    rotation_rad: float | None
    rotation_doubt_rad: float | None
    rotation_removed: bool
    residual_m: float | None
    notes: tuple[Message, ...]


def lay_on_anchors(tracks: Mapping[str, Track], anchors: Sequence[Anchor]) -> Laid:
    """Return tracks with the anchors at which their people stood.

    Parameters
    ----------
    tracks : mapping
        Searcher id -> cleaned track.
    anchors : sequence of Anchor
        Marked places of the site.

    Notes
    -----
    A person who stood 30 s at an anchor before and after the run, at least a minute apart and with offsets
    that agree to 9 m, is known to have been there, to 1 m (`coldfield.debrief.tracks.ways`). A single visit
    is reported but changes nothing, because it may be a chance stop. If one person visited two anchors, the
    rotation of the tracks relative to the plan is known. If it exceeds its uncertainty, it is removed from
    all tracks: the plan is then rotated, because satellite positions are not.
    """
    if not anchors:
        return _unchanged(tracks, (message("note.no_anchors"),))
    visits = _all_visits(tracks, anchors)
    rotation, doubt, residual_m = _rotation(visits, anchors)
    notes: list[Message] = []
    turned = False
    if rotation is None or doubt is None:
        notes.append(message("note.few_anchors"))
    else:
        turned = abs(rotation) > doubt
        notes.append(
            message(
                _TURNED[turned],
                angle=angle(float(np.degrees(rotation)), 1),
                doubt=angle(float(np.degrees(doubt)), 1),
                left=length(residual_m if residual_m is not None else float("nan"), 1),
            )
        )
        if turned:
            tracks = _turned(tracks, visits, anchors, rotation)
            visits = _all_visits(tracks, anchors)
    moved, shifts, rest, more = _laid(tracks, visits, anchors)
    return Laid(
        tracks=moved,
        visits=tuple(visits),
        shift_m=shifts,
        rotation_rad=rotation,
        rotation_doubt_rad=doubt,
        rotation_removed=turned,
        residual_m=float(np.sqrt(np.mean(np.square(rest)))) if rest else residual_m,
        notes=(*notes, *more),
    )


def _all_visits(tracks: Mapping[str, Track], anchors: Sequence[Anchor]) -> list[Visit]:
    return [visit for who, track in tracks.items() for visit in _visits(who, track, anchors)]


def _laid(
    tracks: Mapping[str, Track], visits: Sequence[Visit], anchors: Sequence[Anchor]
) -> tuple[dict[str, Track], dict[str, tuple[float, float]], list[float], list[Message]]:
    """Return tracks with their visits, the mean shifts, and the remaining errors."""
    places = {a.name: a.position_m for a in anchors}
    laid, shifts, rest = dict(tracks), {}, []
    notes: list[Message] = []
    for who, track in tracks.items():
        mine = [v for v in visits if v.searcher == who]
        if not _before_and_after(mine):
            continue
        shift = np.mean([v.offset_m for v in mine], axis=0)
        stood = tuple(
            There(unix_s=(v.start_unix_s + v.end_unix_s) / 2.0, place_m=places[v.anchor], within_m=BESIDE_M)
            for v in mine
        )
        laid[who] = replace(track, stood=stood)
        shifts[who] = (float(-shift[0]), float(-shift[1]))
        rest += [float(np.linalg.norm(np.array(v.offset_m) - shift)) for v in mine]
        note = message(
            "note.laid_on_anchors",
            first=mine[0].anchor,
            last=mine[-1].anchor,
            moved=length(float(np.linalg.norm(shift)), 1),
        )
        notes.append(note.at(track.file))
    return laid, shifts, rest, notes


def _unchanged(tracks: Mapping[str, Track], notes: tuple[Message, ...]) -> Laid:
    return Laid(
        tracks=tracks,
        visits=(),
        shift_m={},
        rotation_rad=None,
        rotation_doubt_rad=None,
        rotation_removed=False,
        residual_m=None,
        notes=notes,
    )


def _visits(who: str, track: Track, anchors: Sequence[Anchor]) -> list[Visit]:
    found = []
    for piece in track.pieces:
        seconds = int(piece.unix_s[-1] - piece.unix_s[0])
        if seconds < STAND_S:
            continue
        moments = piece.unix_s[0] + np.arange(seconds + 1.0)
        place, _ = interpolate(piece.unix_s, piece.position_m, piece.velocity_m_s, moments)
        for first, last in runs(standing(place, track.white_m)):
            if last - first < STAND_S:
                continue
            mean = place[first : last + 1].mean(axis=0)
            near = min(anchors, key=lambda a: float(np.linalg.norm(mean - np.array(a.position_m))))
            offset = mean - np.array(near.position_m)
            if np.linalg.norm(offset) <= REACH_M:
                found.append(
                    Visit(
                        searcher=who,
                        anchor=near.name,
                        start_unix_s=float(moments[first]),
                        end_unix_s=float(moments[last]),
                        offset_m=(float(offset[0]), float(offset[1])),
                    )
                )
    return found


def _before_and_after(visits: Sequence[Visit]) -> bool:
    """Return whether somebody visited anchors before and after, with offsets that one device can have."""
    if len(visits) < 2:
        return False
    first, last = visits[0], visits[-1]
    differ = np.linalg.norm(np.array(first.offset_m) - np.array(last.offset_m))
    return bool(last.start_unix_s - first.end_unix_s >= APART_S and differ <= AGREE_M)


def _seen(visits: Sequence[Visit], anchors: Sequence[Anchor]) -> tuple[Floats, Floats]:
    """Return the places of visited anchors and of the tracks there, (n, 2) each."""
    places = {a.name: np.array(a.position_m) for a in anchors}
    plan = np.array([places[v.anchor] for v in visits])
    return plan, plan + np.array([v.offset_m for v in visits])


def _rotation(
    visits: Sequence[Visit], anchors: Sequence[Anchor]
) -> tuple[float | None, float | None, float | None]:
    """Return the clockwise rotation of tracks relative to the plan, its uncertainty, and the residual.

    It comes from people who visited two anchors. Each person has a separate offset, all share the angle. The
    drift of a device between visits is estimated from the residuals, with `BIAS_M` weighted like one visit.
    """
    along, across, square, visited = 0.0, 0.0, 0.0, []
    for who in {v.searcher for v in visits}:
        mine = [v for v in visits if v.searcher == who]
        if len({v.anchor for v in mine}) < 2:
            continue
        plan, seen = _seen(mine, anchors)
        plan, seen = plan - plan.mean(axis=0), seen - seen.mean(axis=0)
        along += float(np.sum(plan * seen))
        across += float(np.sum(plan[:, 1] * seen[:, 0] - plan[:, 0] * seen[:, 1]))
        square += float(np.sum(plan**2))
        visited.append((plan, seen))
    if square == 0.0:
        return None, None, None
    angle = float(np.arctan2(across, along))
    left = np.concatenate([seen - plan @ _matrix(angle) for plan, seen in visited])
    free = left.size - 2 * len(visited) - 1
    wander_m = float(np.sqrt((BIAS_M**2 + np.sum(left**2)) / (1.0 + max(free, 0))))
    residual_m = float(np.sqrt(np.mean(np.sum(left**2, axis=1))))
    return angle, float(2.0 * wander_m / np.sqrt(square)), residual_m


def _matrix(clockwise_rad: float) -> Floats:
    """Return the matrix that rotates rows of (east, north) clockwise."""
    cos, sin = np.cos(clockwise_rad), np.sin(clockwise_rad)
    return np.array([[cos, -sin], [sin, cos]])


def _turned(
    tracks: Mapping[str, Track], visits: Sequence[Visit], anchors: Sequence[Anchor], angle_rad: float
) -> dict[str, Track]:
    """Return all tracks rotated back about the centre of the visited anchors."""
    middle = _seen(visits, anchors)[0].mean(axis=0)
    back = _matrix(-angle_rad)
    return {
        who: replace(
            track,
            pieces=tuple(
                Piece(
                    unix_s=p.unix_s,
                    written_m=(p.written_m - middle) @ back + middle,
                    position_m=(p.position_m - middle) @ back + middle,
                    velocity_m_s=p.velocity_m_s @ back,
                )
                for p in track.pieces
            ),
        )
        for who, track in tracks.items()
    }
