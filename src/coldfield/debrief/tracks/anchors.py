"""Tracks laid onto the plan by the marked places their bearers stood at."""

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
"""Standing so long at an anchor is a visit. Setting."""

REACH_M = 10.0
"""A stand whose mean lies farther from the anchor than this is no visit. Setting."""

APART_S = 60.0
"""Before and after: visits at least so long apart. Setting."""

AGREE_M = 9.0
"""A device does not drift farther between visits: where it did, one was a chance stop. Setting."""

BESIDE_M = 1.0
"""People stand so far from an anchor they visit, on each axis. Setting."""

_TURNED = {True: "note.turned_back", False: "note.turned_left"}
"""What is said of a rotation that was taken out, and of one that was not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """Somebody stood at an anchor: from, to (s since 1970 UTC), and how far the track stood off it, m."""

    searcher: str
    anchor: str
    start_unix_s: float
    end_unix_s: float
    offset_m: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """Tracks after the anchors: what was visited, how far they lie off in the mean, rotation, what to say.

    `rotation_rad` is that of the tracks against the plan, clockwise, None where fewer than two anchors
    were visited by one person; it is taken out of every track where it exceeds its doubt, which
    `rotation_removed` says. `residual_m` is the root mean square of what shifts, or shift and rotation,
    leave at the visits.
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
    """Return tracks that know at which anchors their bearers stood.

    Parameters
    ----------
    tracks : mapping
        Searcher id -> cleaned track.
    anchors : sequence of Anchor
        Marked places of the site.

    Notes
    -----
    Whoever stood 30 s at an anchor before and after, at least a minute apart and off it by the same to
    9 m, is known to have been there, to 1 m (`coldfield.debrief.tracks.ways`). One visit is reported and
    changes nothing: it may be a chance stop. Where one person visited
    two anchors the tracks' rotation against the plan is told, and taken out of all of them where it exceeds
    its doubt: then the plan was laid out askew, because devices on satellites do not turn.
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
    """Tracks with what their bearers' visits tell, how far they are moved in the mean, and what is left."""
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
    """Whether somebody visited anchors before and after, and they tell what one device may tell."""
    if len(visits) < 2:
        return False
    first, last = visits[0], visits[-1]
    differ = np.linalg.norm(np.array(first.offset_m) - np.array(last.offset_m))
    return bool(last.start_unix_s - first.end_unix_s >= APART_S and differ <= AGREE_M)


def _seen(visits: Sequence[Visit], anchors: Sequence[Anchor]) -> tuple[Floats, Floats]:
    """Where visited anchors are in the plan and where the tracks stood, (n, 2) each."""
    places = {a.name: np.array(a.position_m) for a in anchors}
    plan = np.array([places[v.anchor] for v in visits])
    return plan, plan + np.array([v.offset_m for v in visits])


def _rotation(
    visits: Sequence[Visit], anchors: Sequence[Anchor]
) -> tuple[float | None, float | None, float | None]:
    """Clockwise angle of tracks against the plan from people who visited two anchors, doubt, what is left.

    Each person has an offset of their own, all share the angle. How far a device wanders between visits is
    taken from what is left, `BIAS_M` counting as much as one visit.
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
    """What turns rows of (east, north) clockwise."""
    cos, sin = np.cos(clockwise_rad), np.sin(clockwise_rad)
    return np.array([[cos, -sin], [sin, cos]])


def _turned(
    tracks: Mapping[str, Track], visits: Sequence[Visit], anchors: Sequence[Anchor], angle_rad: float
) -> dict[str, Track]:
    """All tracks turned back about the middle of the anchors visited."""
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
