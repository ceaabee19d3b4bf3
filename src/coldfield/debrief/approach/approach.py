"""Who went after which burial: arrival, audible, turn, border to fine search, walked line."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.hearing import line_azimuth_rad
from coldfield.debrief.approach.arrival import Arrival, Listener, off_burial
from coldfield.debrief.approach.best_lines import BestLine, best_line
from coldfield.debrief.approach.border import (
    After,
    Border,
    audible_from,
    border_of_reading,
    one_of,
    raw_readings_m,
)
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.approach.turn import turn_of
from coldfield.debrief.approach.walked_line import DRIFT_S, near_speed, side_distance_m, speed, wrong_way
from coldfield.debrief.hearing.places import hear_at
from coldfield.debrief.place_doubt import SPREAD, offsets_m
from coldfield.drill.beliefs import Belief, fine_search, fine_search_and_probing

Floats = NDArray[np.float64]

NEAR_M = 8.0
"""Within so far of a burial the walked way tells nothing of a turn: people stop, search, step about."""

LOST_S = 10.0
"""A set that was not audible for longer on the way may have been lost and found again. Setting."""

WALK_M_S = 1.0
"""An unsure place is an unsure moment at about this speed. Setting."""

OVER_BURIAL_M = 0.5
"""How far from the burial's place someone at the lowest reading may stand, on each axis. Setting."""

FINE: dict[str | None, Belief] = {
    "lowest_reading": fine_search(),
    "probe_strike": fine_search_and_probing(),
}
"""From a reading of 3 m to the lowest reading and to the strike, by novices and experts alike: the table of
`coldfield.drill.skills`, from which rehearsals draw too."""

COURSES = 96
"""So many courses of a device's error are tried for the border to the fine search."""

FIRM_DB = 3.0
"""A set heard by less than this may have been lost for a while: hearing is a matter of chance. Setting."""

STANDS_NEAR_M = 1.5
"""The same of someone of whom only the track tells that they stopped there. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Approach:
    """One searcher's way to one burial. Times in s of the run, lengths on the snow in m.

    `offset_m` is how far the track stood off the burial when the person was known to be there, (0, 0)
    where that is not known; `accuracy_m` that of the places on the way, after taking it away.
    `flux_line` is None where the direction could not be followed from the turn. `ratio` is walked
    length over its length; `ratio_uncertainty` covers nineteen cases of twenty.
    """

    searcher: str
    burial: str
    audible: Border | None
    turn: Border
    turn_not_before_s: float
    heard_from_start: bool
    lost_s: float
    fine: Border
    end_s: float
    offset_m: tuple[float, float]
    accuracy_m: float
    walked_m: float
    side_distance_m: float
    flux_line: BestLine | None
    ratio: float | None
    ratio_uncertainty: float | None
    wrong_way: tuple[tuple[float, float, float], ...]
    above_10_m_s: float | None
    below_10_m_s: float | None
    below_10_m_doubt_m_s: float = 0.0

    def widened(self, doubt_s: float) -> Approach:
        """Return the same where the clock that tells the arrivals may be off by `doubt_s`."""
        return replace(
            self,
            audible=None if self.audible is None else self.audible.widened(doubt_s),
            turn=self.turn.widened(doubt_s),
            turn_not_before_s=self.turn_not_before_s - doubt_s,
            fine=self.fine.widened(doubt_s),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Borders:
    """Where an approach begins and ends, and how long the set was lost on the way, s."""

    audible: Border | None
    turn: Border
    turn_not_before_s: float
    lost_s: float
    fine: Border


def approach_of(listener: Listener, arrival: Arrival, *, since_s: float) -> Approach | None:
    """Return a person's way to a burial, or None where the track shows none.

    Parameters
    ----------
    listener : Listener
        The person.
    arrival : Arrival
        When they came there.
    since_s : float
        The end of what they did before, s of the run.
    """
    walk, k = listener.walk, listener.sources.ids.index(arrival.burial)
    window = _window(walk.t_s, since_s, arrival.at_s)
    window_known = walk.known[window]
    if window_known.sum() < 3:
        return None
    t = walk.t_s[window][window_known]
    offset, sd = _offset(listener, arrival, k, t)
    place = walk.position_m[window][window_known] - offset
    heard_with = {
        "sources": listener.sources,
        "index": k,
        "receiver": listener.searcher.receiver,
        "terrain": listener.terrain,
    }
    fine = border_of_reading(
        t,
        place,
        reading_m=3.0,
        offset_m=offsets_m(sd, COURSES),
        then=_then(arrival),
        **heard_with,  # type: ignore[arg-type]
    )
    heading = walk.heading_rad[window][window_known]
    heard = _audible(listener, k, place, heading)
    if not heard.any():
        return None
    far = _until_near(listener, k, place)
    turn, turn_not_before_s = turn_of(
        t,
        place,
        _direction(listener, k, place),
        audible=heard,
        doubt_s=float(sd[heard.argmax()]) / WALK_M_S,
        latest_s=min(max(fine.t_s, float(t[0]) + 1.0), float(t[far])),
    )
    audible = audible_from(
        t,
        place,
        heading,
        turn_s=turn.t_s,
        noise_rise_db=listener.noise_rise_db,
        offset_m=offsets_m(sd),
        **heard_with,  # type: ignore[arg-type]
    )
    firm = _audible(listener, k, place, heading, more_db=FIRM_DB)
    turn, lost_s = _with_losses(turn, t, firm, fine.t_s)
    if arrival.seen == "pass" and not _turned(walk, window, t, turn.t_s):
        return None
    borders = _Borders(
        audible=audible,
        turn=turn,
        turn_not_before_s=turn_not_before_s,
        lost_s=lost_s,
        fine=Border(t_s=max(fine.t_s, turn.t_s), uncertainty_s=fine.uncertainty_s),
    )
    return _measured(listener, arrival, k, borders, t=t, place=place, sd=sd, offset=offset)


def _window(t_s: Floats, since_s: float, at_s: float) -> slice:
    """The indices of a track's moments, (n,), from one moment to another; at least up to the first."""
    last = int(np.clip(np.searchsorted(t_s, at_s, side="right"), 1, t_s.size))
    return slice(int(np.searchsorted(t_s, since_s)), last)


def _offset(listener: Listener, arrival: Arrival, k: int, t: Floats) -> tuple[Floats, Floats]:
    """How far the track stood off the burial at the arrival, and the deviation left at moments before.

    Seen at one moment, the drifting error is known there and again unknown the longer before.
    """
    unknown = np.full(t.size, SPREAD * listener.accuracy_m)
    offset = None if arrival.seen == "pass" else off_burial(listener, arrival, k)
    if offset is None:
        return np.zeros(2), unknown
    if arrival.seen == "stand" and np.linalg.norm(offset) <= 2.0 * STANDS_NEAR_M:
        offset = np.zeros(2)  # near enough: where exactly the person stood is not known
    before = np.maximum(arrival.at_s - t, 0.0)
    drifted = SPREAD * listener.accuracy_m * np.sqrt(2.0 * (1.0 - np.exp(-before / DRIFT_S)))
    stands = OVER_BURIAL_M if arrival.seen == "split" else STANDS_NEAR_M
    return np.asarray(offset), np.minimum(np.hypot(drifted, stands), SPREAD * listener.accuracy_m)


def _then(arrival: Arrival) -> After | None:
    if arrival.split not in FINE:
        return None
    usual = FINE[arrival.split]
    return After(t_s=arrival.at_s, middle_s=usual.middle_s, ratio=usual.spread)


def _audible(
    listener: Listener, k: int, place: Floats, heading: Floats, *, more_db: float = 0.0
) -> NDArray[np.bool_]:
    heard = hear_at(
        one_of(listener.sources, k),
        listener.searcher.receiver,
        listener.terrain,
        place,
        heading_rad=heading,
        noise_rise_db=listener.noise_rise_db + more_db,
        above_m=1.0,
    )
    return np.asarray(heard.audible[:, 0])


def _with_losses(turn: Border, t: Floats, heard: NDArray[np.bool_], fine_s: float) -> tuple[Border, float]:
    """The turn with the doubt that losing the set again brings, and how long it was not firmly heard."""
    way = (t >= turn.t_s) & (t <= fine_s)
    if not (way & heard).any():
        return turn, 0.0
    lost = way & ~heard & (t > t[way & heard][0])
    lost_s = float(lost.sum())
    if lost_s <= LOST_S:
        return turn, lost_s
    again_s = float(t[lost][-1]) + 1.0  # the way that led there may have begun only here
    return replace(turn, uncertainty_s=max(turn.uncertainty_s, again_s - turn.t_s)), lost_s


def _until_near(listener: Listener, k: int, place: Floats) -> int:
    """The last index before the way comes near the burial for good; the whole way where it starts there."""
    away = np.linalg.norm(place - listener.sources.point_m[k, :2], axis=1)
    far = np.flatnonzero(away > NEAR_M)
    return int(far[-1]) if far.size else len(place) - 1


def _direction(listener: Listener, k: int, place: Floats) -> Floats:
    from coldfield.beacon.field import harmonic_dipole_field

    point = listener.terrain.at(place, np.ones(len(place)))
    return line_azimuth_rad(
        harmonic_dipole_field(listener.sources.moment_am2[k], point - listener.sources.point_m[k])
    )


def _turned(walk: HeardWalk, window: slice, t: Floats, turn_s: float) -> bool:
    """True where the way after the turn is another one than before: at least 20 degrees."""
    velocity = walk.velocity_m_s[window][walk.known[window]]
    before = velocity[(t < turn_s) & (t >= turn_s - 20.0)].sum(axis=0)
    after = velocity[(t >= turn_s) & (t < turn_s + 20.0)].sum(axis=0)
    sizes = np.linalg.norm(before) * np.linalg.norm(after)
    return bool(sizes > 0 and before @ after < np.cos(np.radians(20.0)) * sizes)


def _measured(
    listener: Listener,
    arrival: Arrival,
    k: int,
    borders: _Borders,
    *,
    t: Floats,
    place: Floats,
    sd: Floats,
    offset: Floats,
) -> Approach:
    """The approach between its borders; moments (n,), places (n, 2), their deviations (n,), offset (2,)."""
    turn, fine, audible = borders.turn, borders.fine, borders.audible
    way = (t >= turn.t_s) & (t <= fine.t_s)
    walked = listener.terrain.to_snow(place[way])
    step = np.linalg.norm(np.diff(walked, axis=0), axis=1) if way.sum() > 1 else np.zeros(0)
    moving = ~listener.walk.still[np.isin(listener.walk.t_s, t[way])]
    walked_m = float(step[moving[1:] | moving[:-1]].sum()) if step.size else 0.0
    line = _line(listener, k, place[way][0]) if way.any() else None
    sd_turn, sd_end = (float(sd[way][0]), float(sd[way][-1])) if way.any() else (float(sd[0]), float(sd[-1]))
    ratio = uncertainty = None
    side = 0.0
    if line is not None and line.length_m >= 5.0 and walked_m > 0.0:
        ratio = walked_m / line.length_m
        uncertainty = 2.0 * float(np.hypot(sd_turn, sd_end)) / line.length_m
        side = side_distance_m(walked, listener.terrain.to_snow(line.line_m))
    reading = raw_readings_m(
        listener.sources, k, listener.searcher.receiver, listener.terrain, place[way], 1.0
    )
    near_m_s, near_doubt_m_s = near_speed(t[way], walked, reading, drift_m=SPREAD * listener.accuracy_m)
    return Approach(
        searcher=listener.searcher.id,
        burial=arrival.burial,
        audible=audible,
        turn=turn,
        turn_not_before_s=borders.turn_not_before_s,
        lost_s=borders.lost_s,
        heard_from_start=audible is None or audible.t_s - audible.uncertainty_s <= t[0] + 2.0,
        fine=fine,
        end_s=arrival.leave_s,
        offset_m=(float(offset[0]), float(offset[1])),
        accuracy_m=sd_turn,
        walked_m=walked_m,
        side_distance_m=side,
        flux_line=line,
        ratio=ratio,
        ratio_uncertainty=uncertainty,
        wrong_way=()
        if borders.lost_s > LOST_S
        else wrong_way(t[way], reading, step, sd_turn, turn.t_s + turn.uncertainty_s / SPREAD),
        above_10_m_s=speed(step, np.diff(t[way]), reading[1:] > 10.0),
        below_10_m_s=near_m_s,
        below_10_m_doubt_m_s=near_doubt_m_s,
    )


def _line(listener: Listener, k: int, place: Floats) -> BestLine | None:
    """The line that the direction to a burial leads along from a place, (2,)."""
    return best_line(
        listener.sources,
        k,
        listener.terrain,
        place,
        listener.searcher.receiver,
        noise_rise_db=listener.noise_rise_db,
    )
