"""How far the clock of whoever kept the splits was off, as the tracks tell it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.clocks.run_splits import TimedSplit
from coldfield.debrief.ensemble import GRAIN_S, evenly
from coldfield.debrief.stretches import runs
from coldfield.debrief.tracks.track import Track
from coldfield.drill.beliefs import from_8_m
from coldfield.drill.burial import Burial
from coldfield.drill.drill import Drill
from coldfield.message import Message, duration, message

Floats = NDArray[np.float64]

SEARCHED_S = 3600
"""A split-keeper's clock is looked for within so much of that of the tracks. Setting."""

WRONG = 0.25
"""Share of keepers whose clock is off by more than some seconds, taken before looking. Setting."""

WRONG_BY_S = 60.0
"""By how much: minutes rather than an hour, with density 1 / (this + size). Setting."""

AT_M, STEADY_M, NOISE = 0.8, 0.8, 0.6
"""How far from the burial people stand at a lowest reading, a strike or a free airway, how much a device's
drift changes over a minute there, and the share of its white noise that smoothing leaves. Settings."""

TEN_M, TEN_SPREAD_M, WANDER = 8.8, 1.2, 0.35
"""Plan distance at which a set of the reference strength reads 10 m, and its spread over depths and
directions: 10.0 m in line with the set, 7.9 m beside it, a burial's depth and the carry height apart.
Last, the share of a device's drift that has changed since. Settings."""

LATE_S, MOST_LATE_S = 8.0, 24
"""Keepers write a split down late: an exponential law up to a bound. Settings."""

FROM_8_M = {split: from_8_m(split) for split in ("lowest_reading", "probe_strike")}
"""From 8 m off a burial to the lowest reading and to the strike, by novices and experts alike: the table of
`coldfield.drill.skills`."""

SPREAD = 1.8
"""The drift of one device, taken before it is learned from the track, is known within a factor of two: so
much wider is the law of its offset from the plan. Setting."""

ELSEWHERE, UNKNOWN = 0.003, 0.003
"""Likelihood, against 1 for a split that fits, of one that names the wrong person or burial, and of one
at a moment of which the track tells nothing. Settings."""

SET_OFF_S, EARLY_S = 25, 5
"""People walk within so much of the alarm, and not earlier than this before it. Settings."""

READY_S = 20.0
"""How much longer than some ten seconds people take to set off, as an exponential law. Setting."""

SEARCH_S, SEARCHED_M, IDLES = 60, 25.0, 0.25
"""Who searches walks so far in the time after the alarm; and how likely, against 1 for that, it is that a
person with a track does not. Settings."""

ELSE = 1e-4
"""Likelihood of a group that does at the alarm what nobody thought of, against one that sets off. Setting."""

BRIDGED_S = 60.0
"""Dropouts of up to so long are taken as walked straight. Setting."""

WALKED_M, STOOD = 12.0, 0.4
"""Setting off: so far within 25 s, having moved by at most this share of it in the 25 s before. Settings."""

WAITS, WALKS = 0.25, 0.1
"""Likelihood, against 1 for setting off, that a person with a track stands on at the alarm, or is on the
way already. Settings."""

CHECKED_S = 45.0
"""A clock that could be off by more without the tracks telling so has not been checked. Setting."""

_FOUND = {True: "note.clock_found", False: "note.clock_found_one_of_several"}

SPLITS = message("place.splits")
"""Where what is said of the splits as a whole belongs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeeperClock:
    """What to add to the splits' clock, s; how well that is known; and whether tracks tell it at all.

    `doubt_s` holds nineteen times of twenty; `off_s` is what would have to be added in each way in which it
    all may have been. `checked` is False where no track tells whether the clock was right.
    """

    shift_s: float = 0.0
    doubt_s: float = 0.0
    checked: bool = True
    off_s: tuple[float, ...] = ()
    notes: tuple[Message, ...] = ()


def keeper_clock(
    tracks: Mapping[str, Track], rows: Sequence[TimedSplit], drill: Drill, *, free: bool
) -> KeeperClock:
    """Return how far the split-keeper's clock is off.

    Parameters
    ----------
    tracks : mapping
        Searcher id -> track, its times on the clock of `rows`.
    rows : sequence of TimedSplit
        The splits, in seconds since 1970 UTC as their keeper's clock told them.
    drill : Drill
        Where the burials are.
    free : bool
        No split tells the time of day: every shift is as likely as every other.

    Notes
    -----
    A split that names somebody and a burial says where that person was: at the burial (lowest reading,
    strike, airway), or where its set reads 10 m; and a lowest reading follows the arrival by some
    seconds to minutes. Each shift of the clock gives these a likelihood along the track, the track's
    unknown offset from the plan being the same for all splits of one person at one burial and averaged
    over. People who stood and then walk off tell the alarm. With a prior that holds most clocks for right
    this gives each shift a probability, which the ways are drawn from: where the tracks tell nothing, from
    what is known of keepers. The clock is moved when it is more likely wrong than right, and is then
    taken for wrong in all ways.
    """
    shifts = np.arange(-SEARCHED_S, SEARCHED_S + 1.0)
    told = _by_all_at_alarm([_at_alarm(track, rows) for track in tracks.values()])
    for burial in drill.burials:
        for who, track in tracks.items():
            mine = [r for r in rows if r.searcher == who and r.burial == burial.id and r.split in _PLACES]
            if mine:
                told.append(_at_burial(track, mine, np.array(burial.position_m), _ten_m(drill, who, burial)))
    known = [one for one in told if one is not None]
    log_likelihood = np.sum([np.zeros(shifts.size), *known], axis=0)
    likelihood = np.exp(log_likelihood - log_likelihood.max())
    prior = 1.0 / (WRONG_BY_S + np.abs(shifts))
    if free and known:
        prior = np.ones(shifts.size)
    law = WRONG * likelihood * prior / prior.sum()
    shift = float(shifts[int(np.searchsorted(np.cumsum(law), 0.5 * law.sum()))])
    right = 0.0 if free else (1.0 - WRONG) * float(likelihood[SEARCHED_S])
    if right >= law.sum():
        shift = 0.0
        law[SEARCHED_S] += right
    off = evenly(shifts - shift, law, key=2)
    doubt = max(float(np.quantile(np.abs(off), 0.95)), GRAIN_S)
    unseen = np.abs(shifts - shift)[np.argsort(np.abs(shifts - shift), kind="stable")]
    reached = np.cumsum(likelihood[np.argsort(np.abs(shifts - shift), kind="stable")])
    unseen_s = float(unseen[int(np.searchsorted(reached, 0.95 * reached[-1]))])
    checked = bool(known) and unseen_s <= CHECKED_S
    notes = _notes(shift, doubt, unseen_s, checked=checked, known=bool(known))
    return KeeperClock(shift_s=shift, doubt_s=doubt, checked=checked, off_s=tuple(off.tolist()), notes=notes)


def _notes(
    shift_s: float, doubt_s: float, unseen_s: float, *, checked: bool, known: bool
) -> tuple[Message, ...]:
    if not known:
        return (message("note.clock_unknown", doubt=duration(doubt_s)).at(SPLITS),)
    if abs(shift_s) > 2.0:
        return (message(_FOUND[checked], shift=duration(shift_s), doubt=duration(doubt_s)).at(SPLITS),)
    return () if checked else (message("note.clock_could_be_off", unseen=duration(unseen_s)).at(SPLITS),)


_PLACES = ("within_10_m", "lowest_reading", "probe_strike", "airway_clear")


def _ten_m(drill: Drill, who: str, burial: Burial) -> float | None:
    """The plan distance at which a burial's set reads 10 m."""
    if burial.transmitter is None:
        return None
    reference = drill.searcher(who).receiver.reference_field_at_10m_a_per_m
    return float(TEN_M * (burial.transmitter.field_at_10m_a_per_m / reference) ** (1.0 / 3.0))


def _at_burial(track: Track, rows: Sequence[TimedSplit], place: Floats, ten_m: float | None) -> Floats | None:
    """Log likelihood of each shift from one person's splits at one burial."""
    t = np.arange(np.floor(track.start_unix_s), track.end_unix_s + 1.0)
    off, log_prior = _offsets(SPREAD * track.accuracy_m)
    position, _ = track.at(t)
    # Single precision: 160 offsets by an hour of seconds, and a probability needs no more.
    east, north = (position - place).astype(np.float32).T
    away = np.hypot(east[None] - off[:, :1], north[None] - off[:, 1:])
    lost = np.isnan(away)
    beyond = np.where(lost | (away > 8.0), (t - t[0]).astype(np.float32), -np.inf)
    arrived = (t - t[0]).astype(np.float32) - np.maximum.accumulate(beyond, axis=1)
    spread = float(np.sqrt(AT_M**2 + STEADY_M**2 + (NOISE * track.white_m) ** 2))
    there = np.nan_to_num(np.exp(-0.5 * (away / spread) ** 2))
    total = np.repeat(log_prior[:, None], 2 * SEARCHED_S + 1, axis=1)
    first = min((r.split for r in rows if r.split in FROM_8_M), default=None)
    for row in rows:
        fits = there
        if row.split == "within_10_m":
            if ten_m is None:
                continue
            wide = np.sqrt(spread**2 + TEN_SPREAD_M**2 + (WANDER * track.accuracy_m) ** 2)
            fits = _written_late(np.nan_to_num(np.exp(-0.5 * ((away - ten_m) / wide) ** 2)))
        elif row.split == first:
            usual = FROM_8_M[row.split]
            middle, ratio = usual.middle_s, usual.spread
            soon = np.log(np.maximum(arrived, 1.0) / middle) / ratio
            fits = there * np.exp(-0.5 * np.nan_to_num(soon, posinf=9.0) ** 2)
        told = np.log(np.where(lost, UNKNOWN, ELSEWHERE + fits))
        total += _shifted(told, round(row.t_s - t[0]))
    top = total.max(axis=0)
    return np.asarray(top + np.log(np.exp(total - top).sum(axis=0)))


def _written_late(fits: Floats) -> Floats:
    """The best of the moments up to some seconds before, each the less likely the longer before."""
    best = fits.copy()
    for late in range(1, MOST_LATE_S + 1):
        np.maximum(best[:, late:], fits[:, :-late] * np.exp(-late / LATE_S), out=best[:, late:])
    return best


def _shifted(told: Floats, at: int) -> Floats:
    """Values (c, n) along a track, read at index `at` moved by every shift; what lies outside is unknown."""
    out = np.full((len(told), 2 * SEARCHED_S + 1), np.log(UNKNOWN), dtype=told.dtype)
    first, last = at - SEARCHED_S, at + SEARCHED_S + 1
    a, b = max(first, 0), min(last, told.shape[1])
    if a < b:
        out[:, a - first : b - first] = told[:, a:b]
    return out


def _offsets(sd_m: float) -> tuple[Floats, Floats]:
    """Offsets (c, 2) of a track, m, spread evenly over a disc, and the logarithm of their weights."""
    count, reach = 160, float(np.clip(3.5 * sd_m, 6.0, 24.0))
    i = np.arange(count) + 0.5
    radius, angle = reach * np.sqrt(i / count), i * np.pi * (3.0 - np.sqrt(5.0))
    weight = np.exp(-0.5 * (radius / sd_m) ** 2) + 0.05 * np.exp(-0.5 * (radius / (2.5 * sd_m)) ** 2)
    off = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    return off.astype(np.float32), np.log(weight / weight.sum()).astype(np.float32)


def _by_all_at_alarm(each: Sequence[Floats | None]) -> list[Floats | None]:
    """Log likelihood of each shift from what all people together did at the alarm, or nothing."""
    told = [one for one in each if one is not None]
    if not told:
        return []
    return [np.logaddexp(np.sum(told, axis=0), np.log(ELSE))]


def _at_alarm(track: Track, rows: Sequence[TimedSplit]) -> Floats | None:
    """Log likelihood of each shift from whether a person set off at the alarm; None where none is told."""
    alarm = next((row.t_s for row in rows if row.split == "alarm"), None)
    if alarm is None:
        return None
    t = np.arange(np.floor(track.start_unix_s) - SEARCH_S, track.end_unix_s + SEARCH_S + 1.0)
    position = _bridged(track.at(t)[0])
    ahead = np.full(t.size, np.nan)
    ahead[:-SET_OFF_S] = np.hypot(*(position[SET_OFF_S:] - position[:-SET_OFF_S]).T)
    behind = np.full(t.size, np.nan)
    behind[SET_OFF_S:] = ahead[:-SET_OFF_S]
    with np.errstate(invalid="ignore"):
        sets_off = (ahead > WALKED_M) & (behind < STOOD * ahead)
        walks = (ahead > WALKED_M) & (behind > WALKED_M)
    told = np.where(walks, WALKS, WAITS)
    told[np.isnan(ahead) | np.isnan(behind)] = WAITS
    for first, last in runs(sets_off):
        before = np.arange(max(first - SET_OFF_S, 0), first)
        told[before] = np.maximum(told[before], np.exp((before - first) / READY_S))
        told[first : last + EARLY_S + 1] = 1.0
    step = np.zeros(t.size)
    step[:-EARLY_S] = np.hypot(*(position[EARLY_S:] - position[:-EARLY_S]).T) / EARLY_S
    along = np.concatenate([[0.0], np.cumsum(np.nan_to_num(step))])
    walked = along[np.minimum(np.arange(t.size) + SEARCH_S, t.size)] - along[:-1]
    told = told * np.where(walked >= SEARCHED_M, 1.0, IDLES)
    return np.asarray(_shifted(np.log(told)[None], round(alarm - t[0]))[0])


def _bridged(position: Floats) -> Floats:
    """Places (n, 2) at seconds with short dropouts walked straight."""
    known = np.flatnonzero(np.isfinite(position[:, 0]))
    if known.size < 2:
        return position
    second = np.arange(len(position))
    after = np.clip(np.searchsorted(known, second), 1, known.size - 1)
    lost = known[after] - known[after - 1] > BRIDGED_S
    lost |= (second < known[0]) | (second > known[-1])
    whole = np.column_stack([np.interp(second, known, axis) for axis in position[known].T])
    whole[lost & np.isnan(position[:, 0])] = np.nan
    return whole
