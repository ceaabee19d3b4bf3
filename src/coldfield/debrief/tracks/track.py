"""A recorded track, cleaned: in the site frame, in pieces without gaps, smoothed, with its accuracy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.snow import Snow
from coldfield.debrief.tracks.lengths import (
    STANDING_M_S,
    great_circle_m,
    interpolate,
    length_without_standing_m,
    recorded_length_m,
)
from coldfield.debrief.tracks.point_order import in_time_order, kept_after_outliers, one_per_time
from coldfield.debrief.tracks.smooth import smooth_path, white_level_m
from coldfield.drill.frame import SiteFrame
from coldfield.drill.recorded import FARTHEST_SITE_M, MOST_SPAN_S, Recorded
from coldfield.drill.site import Site
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput
from coldfield.message import Message, length, message

Floats = NDArray[np.float64]

BIAS_M = 3.0
"""Slowly drifting part of a phone's or watch's position error on each axis. Setting; common practice."""

NEAR_M = 300.0
"""A track without any point this close to the ground is not a track of this drill, m. Setting."""

GAP_S = 10.0
"""A pause longer than this and than three usual steps starts a new piece if the person moved, s. Setting."""

LONGEST_GAP_S = 12.0 * GAP_S
"""A longer pause is always a gap, s: the walk in it is unknown, and the cost of a track should depend on its
points, not on its duration. Setting."""

GAP_M = 10.0
"""A person has moved if they are this far from where the pause began, m. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A part without gaps: times (n,); recorded places, smoothed places and velocities, (n, 2) in plan."""

    unix_s: Floats
    written_m: Floats
    position_m: Floats
    velocity_m_s: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class There:
    """A known presence of a person: the moment, the place, and its uncertainty on each axis, m.

    `sought` if they worked their way towards it.
    """

    unix_s: float
    place_m: tuple[float, float]
    within_m: float
    sought: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """One person's cleaned track.

    `points`, `seconds` and `raw_length_m` (in plan, within segments) refer to the recorded points. `length_m`
    is on the snow, of the cleaned track, without standing; a gap within a segment counts as a straight line,
    a jump not at all. `accuracy_m` is the standard error of a position on each axis, from `white_m` and
    `bias_m`. `shift_s` has already been added to the times. `stood` says where the person is known to have
    stood.
    """

    file: str
    pieces: tuple[Piece, ...]
    points: int
    seconds: float
    raw_length_m: float
    length_m: float
    white_m: float
    bias_m: float = BIAS_M
    shift_s: float = 0.0
    clock: str = "utc"
    notes: tuple[Message, ...] = ()
    stood: tuple[There, ...] = ()

    @property
    def accuracy_m(self) -> float:
        """Standard error of a position on each axis, m."""
        return float(np.hypot(self.white_m, self.bias_m))

    @property
    def start_unix_s(self) -> float:
        """Return the time of the first point."""
        return float(self.pieces[0].unix_s[0])

    @property
    def end_unix_s(self) -> float:
        """Return the time of the last point."""
        return float(self.pieces[-1].unix_s[-1])

    def at(self, unix_s: Floats) -> tuple[Floats, Floats]:
        """Return places and velocities, shape (n, 2), at given times; NaN outside the pieces."""
        position = np.full((len(unix_s), 2), np.nan)
        velocity = np.full((len(unix_s), 2), np.nan)
        for piece in self.pieces:
            inside = (unix_s >= piece.unix_s[0]) & (unix_s <= piece.unix_s[-1])
            if inside.any():
                position[inside], velocity[inside] = interpolate(
                    piece.unix_s, piece.position_m, piece.velocity_m_s, unix_s[inside]
                )
        return position, velocity

    def shifted(self, shift_s: float) -> Track:
        """Return the track with `shift_s` added to its times."""
        pieces = tuple(replace(piece, unix_s=piece.unix_s + shift_s) for piece in self.pieces)
        stood = tuple(replace(one, unix_s=one.unix_s + shift_s) for one in self.stood)
        return replace(self, pieces=pieces, stood=stood, shift_s=self.shift_s + shift_s)


def screen(recorded: Recorded, site: Site) -> None:
    """Refuse a recording that cannot be cleaned, before it affects another one of the same person.

    Raises
    ------
    BadInput
        If it has no places or times on this ground, one point, or times that run backwards.
    """
    with_place = _on_earth(recorded.place, recorded.frame)
    _refuse_elsewhere(recorded.place, with_place, recorded.frame, site, recorded.file)
    _in_order(recorded.unix_s[with_place & np.isfinite(recorded.unix_s)], recorded.file)


def _in_order(unix_s: Floats, source: str) -> tuple[NDArray[np.int64], list[Message]]:
    if unix_s.size == 0:
        raise BadInput(message("fault.no_times"), source)
    if unix_s.size == 1:
        raise BadInput(message("fault.one_point"), source)
    return in_time_order(unix_s, source)


def clean(
    recorded: Sequence[Recorded], site: Site, *, fastest_m_s: float = 12.0, terrain: Snow | None = None
) -> Track:
    """Return one person's track from everything recorded of them.

    Parameters
    ----------
    recorded : sequence of Recorded
        One or more recordings, which are joined in order of time.
    site : Site
        The frame, slope and ground of the drill.
    fastest_m_s : float
        The highest possible speed; a point that would need more is an outlier.
    terrain : Plane or GridSnow, optional
        The snow on which lengths are measured; default: the plane of the site.

    Raises
    ------
    BadInput
        With one line per fault: no places, no times, times that run backwards, one point, two people
        in one track, another place on Earth, coordinates in the other order.

    Notes
    -----
    Points without a place or time, and all but the first at one time, are left out and counted. Recorded
    elevations are not used, because they are often wrong by tens of metres; the height of the snow is the
    drill's. A pause longer than 10 s and three usual steps stays a gap, and so does every pause longer than
    two minutes.
    """
    source = recorded[0].file
    notes = [note for one in recorded for note in one.notes]
    unix_s, place, segment = _joined(recorded)
    with_place = _on_earth(place, recorded[0].frame)
    _refuse_elsewhere(place, with_place, recorded[0].frame, site, source)
    points = int(with_place.sum())
    raw_length_m = recorded_length_m(place[with_place], segment[with_place], recorded[0].frame)
    usable = with_place & np.isfinite(unix_s)
    order, order_notes = _in_order(unix_s[usable], source)
    if not usable.all():
        notes.append(message("note.unusable_points", n=int((~usable).sum()), all=int(usable.size)))
    unix_s, place, segment = unix_s[usable], place[usable], segment[usable]
    seconds = float(unix_s.max() - unix_s.min())
    if seconds > MOST_SPAN_S:
        raise BadInput(message("fault.days_apart"), source)
    notes += order_notes
    unix_s, place, segment = unix_s[order], place[order], segment[order]
    position = _in_site(place, recorded[0].frame, site)
    new, repeat_notes = one_per_time(unix_s, position, source)
    unix_s, position, segment = unix_s[new], position[new], segment[new]
    keep, breaks, outlier_notes = kept_after_outliers(unix_s, position, source, fastest_m_s=fastest_m_s)
    notes += repeat_notes + outlier_notes
    plane = terrain if terrain is not None else Plane.of(site)
    pieces, white_m, gaps_m = _pieces(
        unix_s[keep], position[keep], breaks[keep], segment[keep], source, plane
    )
    lengths = (
        length_without_standing_m(p.unix_s, p.position_m, p.velocity_m_s, plane.to_snow, white_m=white_m)
        for p in pieces
    )
    return Track(
        file=source,
        pieces=pieces,
        points=points,
        seconds=seconds,
        raw_length_m=raw_length_m,
        length_m=sum(lengths) + gaps_m,
        white_m=white_m,
        clock=recorded[0].clock,
        notes=tuple(notes),
    )


def _joined(recorded: Sequence[Recorded]) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Return all points in order of time; segments of different tracks have different numbers."""

    def start(one: Recorded) -> float:
        finite = one.unix_s[np.isfinite(one.unix_s)]
        return float(finite.min()) if finite.size else np.inf

    ordered = sorted(recorded, key=start)
    segments, offset = [], 0
    for one in ordered:
        segments.append(one.segment + offset)
        offset += int(one.segment.max(initial=0)) + 1
    return (
        np.concatenate([one.unix_s for one in ordered]),
        np.concatenate([one.place for one in ordered]),
        np.concatenate(segments),
    )


def _in_site(place: Floats, frame: str, site: Site) -> Floats:
    if frame == "site":
        return place
    return SiteFrame(site.origin).from_wgs84(place[:, 0], place[:, 1])


def _on_earth(place: Floats, frame: str) -> NDArray[np.bool_]:
    good = np.asarray(np.isfinite(place).all(axis=1))
    with np.errstate(invalid="ignore"):
        if frame == "site":
            return good & (np.abs(place) <= FARTHEST_SITE_M).all(axis=1)
        good &= (np.abs(place[:, 0]) <= np.pi / 2) & (np.abs(place[:, 1]) <= 2 * np.pi)
    return good


def _refuse_elsewhere(
    place: Floats, with_place: NDArray[np.bool_], frame: str, site: Site, source: str
) -> None:
    far, swapped = _away_m(place, frame, site)
    distance = float(np.min(np.where(with_place, far, np.inf), initial=np.inf))
    reach = NEAR_M
    if frame == "wgs84":
        swapped_distance = float(np.min(np.where(np.isnan(swapped), np.inf, swapped), initial=np.inf))
        if swapped_distance <= reach < distance:
            raise BadInput(message("fault.coordinates_swapped"), source)
    if not with_place.any():
        raise BadInput(message("fault.no_coordinates"), source)
    if distance > reach and frame == "wgs84" and site.origin.nowhere:
        raise BadInput(message("fault.drill_nowhere"), source)
    if distance > reach:
        far_off = (
            message("term.kilometres", n=round(distance / 1000)) if distance > 10_000 else length(distance)
        )
        raise BadInput(message("fault.far_away", far=far_off), source)


def _away_m(place: Floats, frame: str, site: Site) -> tuple[Floats, Floats]:
    """Return the distance of each point from the ground's box, as given and with swapped coordinates."""
    box = np.array([np.min(site.boundary_m, axis=0), np.max(site.boundary_m, axis=0)])

    def from_box(position: Floats) -> Floats:
        outside = np.maximum(0.0, np.maximum(box[0] - position, position - box[1]))
        return np.asarray(np.linalg.norm(outside, axis=1))

    with np.errstate(invalid="ignore"):
        place = np.where(np.abs(place) <= (FARTHEST_SITE_M if frame == "site" else 2 * np.pi), place, np.nan)
        if frame == "site":
            return from_box(place), np.full(len(place), np.inf)
        both = []
        for lat, lon in ((place[:, 0], place[:, 1]), (place[:, 1], place[:, 0])):
            flat = from_box(SiteFrame(site.origin).from_wgs84(lat, lon))
            round_earth = great_circle_m(lat, lon, site.origin.latitude_rad, site.origin.longitude_rad)
            both.append(np.where(round_earth > 50_000.0, round_earth, flat))
        return both[0], both[1]


def _pieces(
    unix_s: Floats,
    position: Floats,
    breaks: NDArray[np.bool_],
    segment: NDArray[np.int64],
    source: str,
    plane: Snow,
) -> tuple[tuple[Piece, ...], float, float]:
    """Return pieces, white level, and the length on the snow of the gaps within segments."""
    if unix_s.size < 2:
        raise BadInput(message("fault.nothing_together"), source)
    dt = np.diff(unix_s)
    step = np.linalg.norm(np.diff(plane.to_snow(position), axis=0), axis=1)
    long = dt > min(max(GAP_S, 3.0 * float(np.median(dt))), LONGEST_GAP_S)
    new_segment = np.diff(segment) != 0
    cut = (long & ((step > GAP_M) | (dt > LONGEST_GAP_S) | new_segment)) | breaks[1:]
    counted = cut & ~breaks[1:] & ~new_segment & (step > np.maximum(GAP_M, STANDING_M_S * dt))
    starts = np.concatenate([[0], np.flatnonzero(cut) + 1, [unix_s.size]])
    white_m = white_level_m(unix_s, position)
    pieces = []
    for i, j in pairwise(starts):
        if j - i >= 2:
            path, velocity = smooth_path(unix_s[i:j], position[i:j], white_m=white_m)
            pieces.append(
                Piece(unix_s=unix_s[i:j], written_m=position[i:j], position_m=path, velocity_m_s=velocity)
            )
    if not pieces:
        raise BadInput(message("fault.nothing_together"), source)
    return tuple(pieces), white_m, float(step[counted].sum())
