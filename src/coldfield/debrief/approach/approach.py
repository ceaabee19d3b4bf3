"""A person's approach to a burial: audible, turn, start of the fine search and walked line, in every way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.hearing import Sources
from coldfield.debrief.approach.arrival import Arrival, Listener
from coldfield.debrief.approach.best_lines import BestLine, best_line
from coldfield.debrief.approach.border import Border, audible_from, reached, usual_share
from coldfield.debrief.approach.heard_walk import HeardWalk
from coldfield.debrief.approach.turn import apart_rad, left_lane_s, turns_of, unsure_rad
from coldfield.debrief.approach.walked_line import (
    near_speed_m_s,
    side_distance_m,
    speed,
    walked_m,
    wrong_m,
    wrong_stretch,
)
from coldfield.debrief.ensemble import middle_of, range_db, stream
from coldfield.debrief.hearing.places import hear_at
from coldfield.drill.beliefs import Belief, fine_search, fine_search_and_probing

Floats = NDArray[np.float64]

NEAR_M = 3.5
"""Nearer to a burial than this, m, the walked way shows nothing of a turn: people stop, search, move about.
Setting."""

LOST_S = 10.0
"""A set that was inaudible for longer on the way, s, may have been lost and found again. Setting."""

LONGEST_S = 300.0
"""An approach is looked for this long before the arrival, s. Setting."""

FINE: dict[str, Belief] = {
    "lowest_reading": fine_search(),
    "probe_strike": fine_search_and_probing(),
}
"""Times from a reading of 3 m to the lowest reading and to the strike, over all skills: from the table in
`coldfield.drill.skills`, which rehearsals draw from too."""

PRESSED_S = 2.0
"""Standard deviation of the moment at which a split is pressed, s. Setting."""

FIRM_DB = 3.0
"""A set less than this above the threshold, dB, may have been lost for a while: hearing is random there.
Setting."""

LEAST_LINE_M = 5.0
"""Flux lines shorter than this, m, are not compared with the walked line. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tellings:
    """An approach in each way: arrays (w,). Moments are on the clock of the tracks.

    `audible_s` is NaN where the set was not audible by the turn. `ratio` is the walked length over that of
    the flux line, NaN without one; `wrong_m` is how far the way led away from the set during `wrong_s`
    (start and end); `near_m_s` the speed near the burial, NaN where there is none; `apart_rad` the angle
    between lane and direction at the turn.
    """

    audible_s: Floats
    turn_s: Floats
    fine_s: Floats
    ratio: Floats
    wrong_m: Floats
    wrong_s: tuple[float, float]
    near_m_s: Floats
    apart_rad: Floats

    @property
    def reaction_s(self) -> Floats:
        """From when the set was audible to the turn."""
        return self.turn_s - self.audible_s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Approach:
    """One searcher's way to one burial. Times in s of the run, lengths on the snow in m.

    `accuracy_m` is the standard deviation of the place at the turn on each axis. `flux_line` is None where
    the direction could not be followed from the turn. `ratio` is the walked length over that of the flux
    line. `told` has the values of each way.
    """

    searcher: str
    burial: str
    audible: Border | None
    turn: Border
    heard_from_start: bool
    lost_s: float
    fine: Border
    end_s: float
    accuracy_m: float
    walked_m: float
    side_distance_m: float
    flux_line: BestLine | None
    ratio: float | None
    ratio_uncertainty: float | None
    above_10_m_s: float | None
    below_10_m_s: float | None
    below_10_m_doubt_m_s: float
    told: Tellings


def approach_of(
    listener: Listener,
    arrival: Arrival,
    *,
    since_s: float,
    clock_off_s: Floats,
    zero_off_s: Floats,
    number: int,
) -> Approach | None:
    """Return a person's way to a burial, or None where the track shows none.

    Parameters
    ----------
    listener : Listener
        The person.
    arrival : Arrival
        When they came there.
    since_s : float
        The end of what they did before, s of the run.
    clock_off_s, zero_off_s : ndarray, shape (w,)
        Readings of the tracks' clock at second 0 of the splits and of the run.
    number : int
        Of the stream of random numbers.
    """
    ways = listener.ways
    start_s = max(since_s, arrival.at_s - LONGEST_S)
    t = ways.t_s[(ways.t_s >= start_s) & (ways.t_s <= arrival.at_s)]
    if np.isin(t, listener.walk.t_s[listener.walk.known]).sum() < 3:
        return None
    look = _Look.of(listener, arrival.burial, t)
    if look.audible.any(axis=1).mean() < 0.5:
        return None
    fine_s = reached(t, look.low_reading_m, 3.0)
    weight = None
    if arrival.split in FINE:
        pressed = PRESSED_S * stream(4, number).standard_normal(len(fine_s))
        weight = usual_share(fine_s, arrival.at_s + clock_off_s + pressed, FINE[arrival.split])
    latest = np.minimum(np.maximum(fine_s, t[0] + 1.0), look.last_far_s())
    turn_s = turns_of(
        t,
        look.mean_m,
        look.direction_rad,
        look.audible,
        unsure_rad=unsure_rad(look.place_m, look.mean_m),
        latest_s=latest,
        number=number,
    )
    audible_s = audible_from(t, look.audible, turn_s)
    turn = Border.of(turn_s - zero_off_s)
    if arrival.seen == "pass" and not _turned(listener.walk, t, turn.t_s):
        return None
    lost_s, turn_s = _with_losses(look, turn_s, fine_s)
    fine_s = np.maximum(fine_s, turn_s)
    heard = np.isfinite(audible_s)
    return _measured(
        listener,
        arrival,
        look,
        audible=Border.of(audible_s - zero_off_s) if heard.mean() > 0.5 else None,
        turn=Border.of(turn_s - zero_off_s),
        fine=Border.of(fine_s - zero_off_s, weight),
        moments=(audible_s, turn_s, fine_s),
        lost_s=lost_s,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Look:
    """One set as received where a person may have been at moments (n,): arrays (w, n), the middle way (n, 2).

    Raw readings with the set carried at 1 m, and at 0.1 m as in fine search.
    """

    sources: Sources
    t_s: Floats
    place_m: Floats
    mean_m: Floats
    audible: NDArray[np.bool_]
    direction_rad: Floats
    reading_m: Floats
    low_reading_m: Floats
    firm: NDArray[np.bool_]

    @staticmethod
    def of(listener: Listener, burial: str, t: Floats) -> _Look:
        k = listener.sources.ids.index(burial)
        only = Sources((burial,), listener.sources.point_m[[k]], listener.sources.moment_am2[[k]])
        place = listener.ways.at(t)
        mean = listener.ways.mean_m[np.searchsorted(listener.ways.t_s, t)]
        heading = listener.walk.heading_rad[t.astype(int)]
        receiver, terrain = listener.searcher.receiver, listener.terrain

        def heard(at: Floats, above_m: float) -> tuple[Floats, Floats, Floats]:
            one = hear_at(
                only,
                receiver,
                terrain,
                at,
                heading_rad=np.broadcast_to(heading, at.shape[:-1]),
                noise_rise_db=listener.noise_rise_db,
                above_m=above_m,
            )
            return one.strength[..., 0], one.direction_rad[..., 0], one.raw_reading_m[..., 0]

        strength, direction, reading = heard(place, 1.0)
        return _Look(
            sources=only,
            t_s=t,
            place_m=place,
            mean_m=mean,
            audible=strength >= 10.0 ** (range_db() / 20.0)[:, None],
            direction_rad=direction,
            reading_m=reading,
            low_reading_m=heard(place, 0.1)[2],
            firm=heard(mean, 1.0)[0] >= 10.0 ** (FIRM_DB / 20.0),
        )

    def last_far_s(self) -> Floats:
        """Return when each way last was far from the burial; the end if it starts there."""
        far = np.linalg.norm(self.place_m - self.sources.point_m[0, :2], axis=2) > NEAR_M
        last = self.t_s.size - 1 - far[:, ::-1].argmax(axis=1)
        return np.asarray(self.t_s[np.where(far.any(axis=1), last, self.t_s.size - 1)])


def _with_losses(look: _Look, turn_s: Floats, fine_s: Floats) -> tuple[float, Floats]:
    """For how long the set was not firmly heard, s. If that was long, one turn in ten comes only after it."""
    t = look.t_s
    way = (t >= np.median(turn_s)) & (t <= np.median(fine_s))
    if not (way & look.firm).any():
        return 0.0, turn_s
    lost = way & ~look.firm & (t > t[way & look.firm][0])
    lost_s = float(lost.sum())
    if lost_s <= LOST_S:
        return lost_s, turn_s
    again = np.where(np.arange(turn_s.size) % 10 == 0, float(t[lost][-1]) + 1.0, turn_s)
    return lost_s, np.maximum(turn_s, again)


def _turned(walk: HeardWalk, t: Floats, turn_s: float) -> bool:
    """True where the way after the turn differs by at least 20 degrees from the way before."""
    at = np.isin(walk.t_s, t) & walk.known
    velocity, t = walk.velocity_m_s[at], walk.t_s[at]
    before = velocity[(t < turn_s) & (t >= turn_s - 20.0)].sum(axis=0)
    after = velocity[(t >= turn_s) & (t < turn_s + 20.0)].sum(axis=0)
    sizes = np.linalg.norm(before) * np.linalg.norm(after)
    return bool(sizes > 0 and before @ after < np.cos(np.radians(20.0)) * sizes)


def _measured(
    listener: Listener,
    arrival: Arrival,
    look: _Look,
    *,
    audible: Border | None,
    turn: Border,
    fine: Border,
    moments: tuple[Floats, Floats, Floats],
    lost_s: float,
) -> Approach:
    """The approach between its borders; `moments` are audible, turn and fine in each way, (w,)."""
    audible_s, turn_s, fine_s = moments
    t, snow = look.t_s, listener.terrain.to_snow
    way = (t >= turn.t_s) & (t <= max(fine.t_s, turn.t_s + 1.0))
    walked, on_snow = snow(look.mean_m[way]), snow(look.place_m)
    step = np.linalg.norm(np.diff(walked, axis=0), axis=1) if way.sum() > 1 else np.zeros(0)
    still = listener.walk.still[t[way].astype(int)]
    length_m = float(step[~still[1:] | ~still[:-1]].sum()) if step.size else 0.0
    first = int(way.argmax())
    line = _line(listener, look, look.mean_m[first]) if way.any() else None
    ratio = np.full(turn_s.size, np.nan)
    side = 0.0
    if line is not None and line.length_m >= LEAST_LINE_M and length_m > 0.0:
        begins = np.clip(np.searchsorted(t, turn_s), 0, t.size - 1)
        reading = look.reading_m[np.arange(turn_s.size), begins]
        lines_m = (line.length_m + 3.0) * reading / np.median(look.reading_m[:, first]) - 3.0
        ratio = walked_m(t, on_snow, turn_s, fine_s) / np.maximum(lines_m, LEAST_LINE_M)
        side = side_distance_m(walked, snow(line.line_m))
    middle = np.median(look.reading_m, axis=0)
    heard_s = float(np.nanmedian(audible_s)) if audible is not None else float(t[0])
    wrong, span = _wrong_way(look, on_snow, heard_s=heard_s, turn_s=turn_s, end_s=fine.t_s)
    near = near_speed_m_s(t, on_snow, look.mean_m, look.reading_m, turn_s, fine_s)
    slow = middle_of(near) if np.isfinite(near).mean() > 0.5 else None
    odds = middle_of(ratio) if np.isfinite(ratio).any() else None
    return Approach(
        searcher=listener.searcher.id,
        burial=arrival.burial,
        audible=audible,
        turn=turn,
        heard_from_start=audible is None or bool(np.mean(audible_s <= t[0] + 2.0) > 0.5),
        lost_s=lost_s,
        fine=Border(t_s=max(fine.t_s, turn.t_s), uncertainty_s=fine.uncertainty_s),
        end_s=arrival.leave_s,
        accuracy_m=float(np.sqrt(np.mean(np.var(look.place_m[:, first], axis=0)))),
        walked_m=length_m,
        side_distance_m=side,
        flux_line=line,
        ratio=None if odds is None else odds.value,
        ratio_uncertainty=None if odds is None else odds.uncertainty,
        above_10_m_s=speed(step, np.diff(t[way]), middle[way][1:] > 10.0),
        below_10_m_s=None if slow is None else slow.value,
        below_10_m_doubt_m_s=0.0 if slow is None else slow.uncertainty,
        told=Tellings(
            audible_s=audible_s,
            turn_s=turn_s,
            fine_s=fine_s,
            ratio=ratio,
            wrong_m=wrong,
            wrong_s=span,
            near_m_s=near,
            apart_rad=apart_rad(t, look.mean_m, look.direction_rad, look.audible, turn_s),
        ),
    )


def _wrong_way(
    look: _Look, on_snow: Floats, *, heard_s: float, turn_s: Floats, end_s: float
) -> tuple[Floats, tuple[float, float]]:
    """How far each way led the wrong way between two moments, (w,), m, and when: start and end, s."""
    t = look.t_s
    since = np.minimum(turn_s, left_lane_s(t, look.mean_m, heard_s))
    begin = int(np.searchsorted(t, min(heard_s, float(np.median(since)))))
    end = int(np.searchsorted(t, end_s, side="right"))
    reading = np.median(look.reading_m[:, begin:end], axis=0)
    turned = int(np.searchsorted(t, np.median(since))) - begin
    stretch = wrong_stretch(look.mean_m[begin:end], reading, turned)
    if stretch is None:
        return np.zeros(turn_s.size), (0.0, 0.0)
    first, top, back = stretch
    far_m = wrong_m(t, on_snow, look.reading_m, (begin + first, begin + top, back), since)
    return far_m, (float(t[begin + first]), float(t[begin + top]))


def _line(listener: Listener, look: _Look, place: Floats) -> BestLine | None:
    """The line that the direction to a burial leads along from a place, (2,)."""
    return best_line(
        look.sources,
        0,
        listener.terrain,
        place,
        listener.searcher.receiver,
        noise_rise_db=listener.noise_rise_db,
    )
