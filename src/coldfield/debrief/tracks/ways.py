"""Draw the possible walks of a person (the 'ways') from all that is known of a track."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.ensemble import WAYS, stream
from coldfield.debrief.stretches import runs
from coldfield.debrief.tracks.drift import FAR_M, Drift, Seen, Walks
from coldfield.debrief.tracks.lengths import interpolate
from coldfield.debrief.tracks.track import There, Track

Floats = NDArray[np.float64]

KNOT_S = 2.0
"""Spacing of the knots of a walk, s; between them it is the cubic through places and velocities."""

BEFORE_S = 1800.0
"""Recordings from this long before the run are also used to learn about the device, s. Setting."""

DRIFTS = tuple(
    Drift(sd_m=sd, scale_s=scale, rough=rough)
    for rough, kinds in (
        (True, {1.5: (60.0, 200.0), 3.0: (60.0, 150.0, 400.0), 6.0: (150.0,)}),
        (False, {1.5: (60.0, 150.0), 3.0: (60.0, 150.0), 6.0: (60.0, 150.0)}),
    )
    for sd, scales in kinds.items()
    for scale in scales
)
"""Possible drifts of a phone or watch besides its offset: 3 m on each axis within a factor of two, over one
to seven minutes, rough or smooth. Settings; their weights for a device are learned from its own track."""

TRUST = 0.7
"""Exponent of the likelihood in the weights of drifts, because people do not stand exactly as in the model,
which must not be attributed to the device. Setting."""

LEAST_SHARE = 1e-3
"""Drifts with a smaller weight are left out. Setting."""

CREEPING = 0.25
"""Prior share of people who creep when they may also be standing. Setting."""

STAND_S, STAND_M_S = 20, 0.35
"""A person slower than this over this time stands: drift alone can look like that, s, m/s. Settings."""

WALKING_M2_S3, TURNING = 0.05, 0.125
"""Spectral density of the acceleration of a straight walk, and the share, per second, of a squared change of
velocity over some seconds that is added for turns and stops. Settings."""

STEPS_M, STEPS_S = 0.38, 4.0
"""People who stand at work step about: this far on each axis, m, with this time scale, s. Settings."""

STEPS_M2_S = 0.3
"""Spectral density of that motion as white noise, to separate it from a drift. Setting."""

STANDS_M_S, STANDING_M2_S3 = 0.05, 1e-4
"""Speed on each axis, and spectral density of the acceleration, of a standing person. Settings."""

CREEPS_M_S, CREEPING_M2_S3 = 0.47, 0.0045
"""The same for a person who creeps up to a burial: their speed is 0.15 m/s on each axis and changes after
10 s. A device drifts as fast, so no track can distinguish this from standing. Settings."""

CREEP_S, CREEP_M = 180.0, 15.0
"""A person who is slow within this time before their strike, s, and this close to it, m, creeps or stands;
both are among the ways. Settings."""

SEVERAL_S = 5
"""The uncertainty of places is evaluated once per this many seconds. Setting."""

FROZEN_M = 0.01
"""A device that repeats the same place to within this has frozen, m. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PathWays:
    """The possible positions of one person at whole seconds of the run.

    `t_s` (n,) runs from the first to the last second of the track within the run, including gaps, and before
    second 0 if the alarm may have been earlier. `position_m` (WAYS, n, 2) is in plan; `mean_m` and
    `velocity_m_s` (n, 2) are means; `stands` (n,) says when the person surely stood. `spread_m` is the
    uncertainty of recorded places on each axis, one standard deviation.
    """

    t_s: Floats
    position_m: Floats
    mean_m: Floats
    velocity_m_s: Floats
    stands: NDArray[np.bool_]
    spread_m: float

    def at(self, t_s: Floats) -> Floats:
        """Return the possible positions at whole seconds within `t_s`, (WAYS, k, 2)."""
        return self.position_m[:, np.searchsorted(self.t_s, t_s)]


def path_ways(
    track: Track,
    there: Sequence[There],
    *,
    zero_unix_s: float,
    end_s: float,
    number: int,
    start_s: float = 0.0,
) -> PathWays | None:
    """Return the possible walks of a person; None if the track does not overlap the run.

    Parameters
    ----------
    track : Track
        The cleaned track.
    there : sequence of There
        Places at which the person is known to have been.
    zero_unix_s, end_s, start_s : float
        The run; it may have begun before its second 0.
    number : int
        The number of the random stream, different for each person, so that draws are reproducible.

    Notes
    -----
    The drift is learned where the person stands and where their true place is known, never from a lane or a
    set's direction. Each drift in `DRIFTS` is weighted by the likelihood of the places recorded at rest, and
    its share of the ways is drawn from the walks that it implies.
    """
    first = max(np.ceil(track.start_unix_s - zero_unix_s), np.floor(start_s))
    last = min(np.floor(track.end_unix_s - zero_unix_s), np.floor(end_s))
    if last < first:
        return None
    paces = _seen(track, there, zero_unix_s, first, last)
    seen = paces[0]
    laws, weight = _weighed(paces)
    t = np.arange(first, last + 1.0)
    rng = stream(1, number)
    taken = np.diff(np.floor(np.concatenate([[0.0], np.cumsum(weight)]) * WAYS + 0.5).astype(int))
    mean, speed = np.zeros((2, t.size, 2))
    ways, order = np.empty((WAYS, t.size, 2)), rng.permutation(WAYS)
    begin = int(t[0] - seen.knot_s[0])
    for law, share, count, done in zip(laws, weight, taken, np.cumsum(taken), strict=True):
        if share < LEAST_SHARE and not count:
            continue
        middle = law.mean()
        place, velocity = interpolate(seen.knot_s, middle[0], middle[1], t)
        mean, speed = mean + share * place, speed + share * velocity
        if count:
            drawn = _each_second(*law.drawn(count, rng))[begin : begin + t.size]
            ways[order[done - count : done]] = drawn.transpose(1, 0, 2)
    stands = np.interp(t, seen.knot_s, seen.stands > 0.0) > 0.5
    ways[:, stands] += _steps_about(int(stands.sum()), rng)
    told = np.interp(t, seen.knot_s, seen.written > 0.0) > 0.5
    spread = np.sqrt(np.mean(np.var(ways[:, told][:, ::SEVERAL_S], axis=0))) if told.any() else FAR_M
    return PathWays(
        t_s=t, position_m=ways, mean_m=mean, velocity_m_s=speed, stands=stands, spread_m=float(spread)
    )


def _weighed(paces: Sequence[Seen]) -> tuple[list[Walks], Floats]:
    """Return the distributions of a walk for each drift and pace, and their shares."""
    seen = paces[0]
    log_weight = np.zeros(len(DRIFTS))
    if seen.stands.any():  # without standing there is nothing to learn about the drift
        at_rest = seen.only(seen.stands > 0.0)
        log_weight = np.array([Walks(at_rest, drift).log_evidence for drift in DRIFTS])
    laws = [[Walks(one, drift) for one in paces] for drift in DRIFTS]
    share = np.zeros((len(DRIFTS), len(paces)))
    share[:, 0] = _shares(log_weight)
    if len(paces) > 1:
        nowhere = np.zeros(seen.knot_s.size, dtype=bool)
        before = np.array([Walks(one.only(nowhere), DRIFTS[0]).log_evidence for one in paces])
        before -= np.log([1.0 - CREEPING, CREEPING]) / TRUST
        for k in np.flatnonzero(share[:, 0] >= LEAST_SHARE):
            share[k] = share[k, 0] * _shares(np.array([law.log_evidence for law in laws[k]]) - before)
    return [law for mine in laws for law in mine], share.ravel()


def _shares(log_weight: Floats) -> Floats:
    """Return shares from log-likelihoods, tempered by `TRUST`."""
    weight = np.exp(TRUST * (log_weight - log_weight.max()))
    return np.asarray(weight / weight.sum())


def _each_second(places: Floats, velocities: Floats) -> Floats:
    """Return places (k, w, 2) at knots 2 s apart, and halfway between them on the cubic."""
    whole = np.empty((2 * len(places) - 1, *places.shape[1:]))
    whole[::2] = places
    whole[1::2] = (places[:-1] + places[1:]) / 2.0 + KNOT_S / 8.0 * (velocities[:-1] - velocities[1:])
    return whole


def _steps_about(seconds: int, rng: np.random.Generator) -> Floats:
    """Return the steps of a person at work around their stand, for each way, (WAYS, seconds, 2)."""
    from scipy.signal import lfilter

    stay = np.exp(-1.0 / STEPS_S)
    push = STEPS_M * rng.standard_normal((WAYS, seconds, 2))
    push[:, 1:] *= np.sqrt(1.0 - stay**2)
    return np.asarray(lfilter([1.0], [1.0, -stay], push, axis=1))


def _seen(
    track: Track, there: Sequence[There], zero_unix_s: float, first_s: float, last_s: float
) -> list[Seen]:
    """Return the observations of a track and known places at the knots of a walk of two seconds or more.

    One result assumes that a slow person stands, a second one that they creep where possible.
    """
    moments = np.concatenate([p.unix_s for p in track.pieces]) - zero_unix_s
    places = np.concatenate([p.written_m for p in track.pieces])
    inside = (moments >= first_s - BEFORE_S) & (moments <= last_s + KNOT_S)
    moments, places = moments[inside], places[inside]
    begin, end = min(moments.min(initial=first_s), first_s), max(moments.max(initial=last_s), last_s)
    knots = np.arange(np.floor(begin / KNOT_S), np.floor(end / KNOT_S) + 2.0) * KNOT_S
    at = ((moments - knots[0]) // KNOT_S).astype(int)
    late = moments - knots[at]
    sure = track.white_m**-2

    def summed(what: Floats) -> Floats:
        return np.asarray(np.bincount(at, sure * what, minlength=knots.size), dtype=np.float64)

    def placed(weight: Floats) -> Floats:
        return np.column_stack([summed(weight * places[:, axis]) for axis in (0, 1)])

    stands = _stands(track, knots + zero_unix_s)
    known = np.zeros(knots.size)
    known_place = np.zeros((knots.size, 2))
    for one in there:
        k = int(np.clip(round((one.unix_s - zero_unix_s - knots[0]) / KNOT_S), 0, knots.size - 1))
        known[k] += one.within_m**-2
        known_place[k] += np.array(one.place_m) * one.within_m**-2
    creeps = stands & _creeps(track, there, knots + zero_unix_s)
    still, slow = stands[:-1] & stands[1:], creeps[:-1] | creeps[1:]
    written = summed(np.ones(late.size))
    # Stepping about is low-frequency noise around the place where somebody stands.
    share = np.where(stands, 1.0 / (1.0 + written * STEPS_M2_S / KNOT_S), 1.0)
    standing = Seen(
        knot_s=knots,
        jerk_m2_s3=np.where(still, STANDING_M2_S3, _jerk(track, knots + zero_unix_s)),
        written=share * written,
        written_late=share * summed(late),
        written_late2=share * summed(late**2),
        place=share[:, None] * placed(np.ones(late.size)),
        place_late=share[:, None] * placed(late),
        stands=np.where(stands, STANDS_M_S**-2, 0.0),
        there=known,
        there_place=known_place,
    )
    if not creeps.any():
        return [standing]
    creeping = replace(
        standing,
        jerk_m2_s3=np.where(still & slow, CREEPING_M2_S3, standing.jerk_m2_s3),
        stands=np.where(creeps, CREEPS_M_S**-2, standing.stands),
    )
    return [standing, creeping]


def _jerk(track: Track, unix_s: Floats) -> Floats:
    """Return the spectral density of the acceleration between even moments, (n - 1,), large at turns."""
    velocity = np.pad(track.at(unix_s)[1], ((1, 1), (0, 0)), mode="edge")
    change = np.sum((velocity[3:] - velocity[:-3]) ** 2, axis=1)
    return np.asarray(WALKING_M2_S3 + TURNING * np.nan_to_num(change, nan=0.5))


def _stands(track: Track, unix_s: Floats) -> NDArray[np.bool_]:
    """Return at which evenly spaced moments a person surely stands; none if the device froze at rest."""
    place, _ = track.at(unix_s)
    n, half = len(unix_s), int(STAND_S / (2.0 * KNOT_S))
    late, early = np.minimum(np.arange(n) + half, n - 1), np.maximum(np.arange(n) - half, 0)
    way = np.linalg.norm(place[late] - place[early], axis=1)
    with np.errstate(invalid="ignore"):
        slow = way < STAND_M_S * KNOT_S * np.maximum(late - early, 1)
    stands = np.zeros(n, dtype=bool)
    for first, last in runs(slow):
        if (last - first) * KNOT_S >= STAND_S:
            stands[first + 1 : last] = True
    if stands.any() and _frozen(track, unix_s[stands]):
        return np.zeros(n, dtype=bool)
    return stands


def _creeps(track: Track, there: Sequence[There], unix_s: Floats) -> NDArray[np.bool_]:
    """Return at which moments a person approaches a place that they worked towards, (n,)."""
    creeps = np.zeros(unix_s.size, dtype=bool)
    place, _ = track.at(unix_s)
    for one in there:
        away = np.linalg.norm(place - np.array(one.place_m), axis=1)
        creeps |= one.sought & (unix_s <= one.unix_s) & (unix_s > one.unix_s - CREEP_S) & (away <= CREEP_M)
    return creeps


def _frozen(track: Track, unix_s: Floats) -> bool:
    """Return whether most places recorded around these moments repeat the same place."""
    same, all_of_them = 0, 0
    for piece in track.pieces:
        i = np.clip(np.searchsorted(unix_s, piece.unix_s[1:]), 1, max(unix_s.size - 1, 1))
        near = np.minimum(
            *(np.abs(piece.unix_s[1:] - unix_s[np.minimum(j, unix_s.size - 1)]) for j in (i, i - 1))
        )
        step = np.linalg.norm(np.diff(piece.written_m, axis=0), axis=1)
        same += int((step[near <= KNOT_S] < FROZEN_M).sum())
        all_of_them += int((near <= KNOT_S).sum())
    return same > 0.5 * all_of_them
