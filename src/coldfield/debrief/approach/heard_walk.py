"""Second by second along a track: the person's position, and what their receiver could hear there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.hearing import Sources
from coldfield.debrief.hearing.places import hear_at
from coldfield.debrief.snow import Snow, speed_on_snow_m_s
from coldfield.debrief.tracks.lengths import standing
from coldfield.debrief.tracks.track import Track
from coldfield.debrief.tracks.ways import PathWays
from coldfield.drill.searcher import Receiver

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeardWalk:
    """One person at whole seconds of the run's clock.

    Arrays of shape (n,) or (n, 2), and (n, k) over the transmitting sets in the drill's order. Values are NaN
    outside the track and in its gaps. `heading_rad` is the azimuth of the walk, `speed_m_s` is on the snow,
    `still` is true while the person stands. `reading_m` is NaN and `audible` False if a set is not heard;
    `direction_rad` is as in `coldfield.beacon.hearing.Heard`.
    """

    t_s: Floats
    position_m: Floats
    velocity_m_s: Floats
    heading_rad: Floats
    speed_m_s: Floats
    still: NDArray[np.bool_]
    known: NDArray[np.bool_]
    reading_m: Floats
    direction_rad: Floats
    audible: NDArray[np.bool_]


def heard_walk(
    track: Track,
    ways: PathWays | None,
    sources: Sources,
    receiver: Receiver,
    terrain: Snow,
    *,
    zero_unix_s: float,
    end_s: float,
    noise_rise_db: float = 0.0,
    off_from_s: dict[str, float] | None = None,
) -> HeardWalk:
    """Return what a person's receiver could hear at each whole second from 0 to `end_s`.

    Parameters
    ----------
    track : Track
        The cleaned track.
    ways : PathWays, optional
        Possible positions of the person; their mean is used if the track has no gap.
    sources : Sources
        The transmitting sets.
    receiver : Receiver
        The person's receiver.
    terrain : Plane or GridSnow
        The snow.
    zero_unix_s : float
        The start of the run's clock.
    end_s : float
        Last moment, s of the run.
    noise_rise_db : float
        Today's noise.
    off_from_s : dict, optional
        Burial id -> the moment when its set stopped transmitting.

    Notes
    -----
    Definite mode: each set on its own, with the receiver held level at the carry height. While the person
    stands, the heading is that of the last steps.
    """
    t = np.arange(0.0, np.floor(end_s) + 1.0)
    position, velocity = track.at(t + zero_unix_s)
    known = np.isfinite(position[:, 0])
    if ways is not None:
        at = np.searchsorted(ways.t_s, t[known])
        position[known], velocity[known] = ways.mean_m[at], ways.velocity_m_s[at]
    speed = speed_on_snow_m_s(terrain, position, velocity)
    still = np.zeros(t.size, dtype=bool)
    still[known] = _standing_in_pieces(terrain.to_snow(position[known]), t[known], track.white_m)
    if ways is not None:
        still[known] |= ways.stands[at]
    heading = _heading(velocity, known & ~still & (speed > 0.2))
    count = len(sources.ids)
    reading, direction = np.full((2, t.size, count), np.nan)
    audible = np.zeros((t.size, count), dtype=bool)
    if count and known.any():
        heard = hear_at(
            sources,
            receiver,
            terrain,
            position[known],
            heading_rad=heading[known],
            noise_rise_db=noise_rise_db,
        )
        reading[known], direction[known], audible[known] = heard.reading_m, heard.direction_rad, heard.audible
    for burial, off_s in (off_from_s or {}).items():
        if burial in sources.ids:
            off = t >= off_s
            k = sources.ids.index(burial)
            reading[off, k], direction[off, k], audible[off, k] = np.nan, np.nan, False
    return HeardWalk(
        t_s=t,
        position_m=position,
        velocity_m_s=velocity,
        heading_rad=heading,
        speed_m_s=speed,
        still=still,
        known=known,
        reading_m=reading,
        direction_rad=direction,
        audible=audible,
    )


def _standing_in_pieces(on_snow: Floats, t: Floats, white_m: float) -> NDArray[np.bool_]:
    still = np.zeros(t.size, dtype=bool)
    for piece in np.split(np.arange(t.size), np.flatnonzero(np.diff(t) > 1.5) + 1):
        still[piece] = standing(on_snow[piece], white_m)
    return still


def _heading(velocity: Floats, moving: NDArray[np.bool_]) -> Floats:
    """Return the azimuth of the walk; the last one while standing, the first one before the first step."""
    if not moving.any():
        return np.zeros(len(velocity))
    azimuth = np.mod(np.arctan2(velocity[:, 0], velocity[:, 1]), 2 * np.pi)
    at = np.flatnonzero(moving)
    last = np.clip(np.searchsorted(at, np.arange(len(velocity)), side="right") - 1, 0, None)
    return np.asarray(azimuth[at[last]])
