"""Estimate the error of the split-keeper's clock from the tracks."""

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
"""The largest shift of a split-keeper's clock that is tried, s. Setting."""

WRONG = 0.25
"""Prior share of keepers whose clock is wrong by more than some seconds. Setting."""

WRONG_BY_S = 60.0
"""Scale of the prior of that error, whose density is 1 / (this + size), s. Setting."""

AT_M, STEADY_M, NOISE = 0.8, 0.8, 0.6
"""Distance of people from the burial at a lowest reading, a strike or a free airway; change of a device's
drift over a minute there; share of its white noise that remains after smoothing. Settings."""

TEN_M, TEN_SPREAD_M, WANDER = 8.8, 1.2, 0.35
"""Plan distance at which a set of the reference strength reads 10 m, and its spread over depths and
directions: 10.0 m in line with the set, 7.9 m beside it, without the burial's depth and the carry height.
The last value is the share of a device's drift that has changed since. Settings."""

LATE_S, MOST_LATE_S = 8.0, 24
"""Delay with which keepers press a split: an exponential law up to a bound, s. Settings."""

FROM_8_M = {split: from_8_m(split) for split in ("lowest_reading", "probe_strike")}
"""Time from 8 m before a burial to the lowest reading and to the strike, for novices and experts alike, from
the table in `coldfield.drill.skills`."""

SPREAD = 1.8
"""The drift of a device, before its track is used, is known within a factor of two: the law of its offset is
wider by this factor. Setting."""

ELSEWHERE, UNKNOWN = 0.003, 0.003
"""Likelihood, relative to 1 for a split that fits, of a split with the wrong person or burial, and of one at
a moment without a track. Settings."""

SET_OFF_S, EARLY_S = 25, 5
"""People set off at most this long after the alarm, and at most this long before it, s. Settings."""

READY_S = 20.0
"""Additional time that people take to set off, an exponential law, s. Setting."""

SEARCH_S, SEARCHED_M, IDLES = 60, 25.0, 0.25
"""The time after the alarm, s, in which a searcher walks this distance, m; and the likelihood, relative to 1,
that a person with a track does not. Settings."""

ELSE = 1e-4
"""Likelihood of a group that does something else at the alarm, relative to one that sets off. Setting."""

BRIDGED_S = 60.0
"""Dropouts of up to this length are filled with a straight walk, s. Setting."""

WALKED_M, STOOD = 12.0, 0.4
"""Setting off: this distance within 25 s, m, and at most this share of it in the 25 s before. Settings."""

WAITS, WALKS = 0.25, 0.1
"""Likelihood, relative to 1 for setting off, that a person with a track keeps standing at the alarm, or is
already walking. Settings."""

CHECKED_S = 45.0
"""A clock counts as unchecked if a larger error could go unnoticed in the tracks, s. Setting."""

_FOUND = {True: "note.clock_found", False: "note.clock_found_one_of_several"}

SPLITS = message("place.splits")
"""The place of notes on the splits as a whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeeperClock:
    """The correction of the splits' clock, s, its uncertainty, and whether the tracks allow an estimate.

    `doubt_s` is a 95 % limit; `off_s` holds the correction in each variant. `checked` is False if no track
    shows whether the clock was right.
    """

    shift_s: float = 0.0
    doubt_s: float = 0.0
    checked: bool = True
    off_s: tuple[float, ...] = ()
    notes: tuple[Message, ...] = ()


def keeper_clock(
    tracks: Mapping[str, Track], rows: Sequence[TimedSplit], drill: Drill, *, free: bool
) -> KeeperClock:
    """Return the error of the split-keeper's clock.

    Parameters
    ----------
    tracks : mapping
        Searcher id -> track, its times on the clock of `rows`.
    rows : sequence of TimedSplit
        The splits, in seconds since 1970 UTC by their keeper's clock.
    drill : Drill
        Where the burials are.
    free : bool
        True if no split has a time of day; all shifts are then equally likely.

    Notes
    -----
    A split with a person and a burial says where that person was: at the burial (lowest reading, strike,
    airway), or where its set reads 10 m. A lowest reading follows the arrival by some seconds to minutes.
    Each shift of the clock gives these a likelihood along the track, averaged over the unknown offset of the
    track from the plan, which is the same for all splits of one person at one burial. People who stood and
    then walk off indicate the alarm. With a prior under which most clocks are right, this gives each shift a
    probability, from which the variants are drawn. If the tracks do not show the error, the prior remains.
    The clock is shifted if it is more likely wrong than right, and then in all variants.
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
    """Return the plan distance at which a burial's set reads 10 m."""
    if burial.transmitter is None:
        return None
    reference = drill.searcher(who).receiver.reference_field_at_10m_a_per_m
    return float(TEN_M * (burial.transmitter.field_at_10m_a_per_m / reference) ** (1.0 / 3.0))


def _at_burial(track: Track, rows: Sequence[TimedSplit], place: Floats, ten_m: float | None) -> Floats | None:
    """Return the log-likelihood of each shift from one person's splits at one burial."""
    t = np.arange(np.floor(track.start_unix_s), track.end_unix_s + 1.0)
    off, log_prior = _offsets(SPREAD * track.accuracy_m)
    position, _ = track.at(t)
    # Single precision is enough for a probability, and the array has 160 offsets by an hour of seconds.
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
    """Return the best moment within some seconds before, with a penalty that grows with the delay."""
    best = fits.copy()
    for late in range(1, MOST_LATE_S + 1):
        np.maximum(best[:, late:], fits[:, :-late] * np.exp(-late / LATE_S), out=best[:, late:])
    return best


def _shifted(told: Floats, at: int) -> Floats:
    """Return values (c, n) along a track at index `at` moved by every shift; outside they are unknown."""
    out = np.full((len(told), 2 * SEARCHED_S + 1), np.log(UNKNOWN), dtype=told.dtype)
    first, last = at - SEARCHED_S, at + SEARCHED_S + 1
    a, b = max(first, 0), min(last, told.shape[1])
    if a < b:
        out[:, a - first : b - first] = told[:, a:b]
    return out


def _offsets(sd_m: float) -> tuple[Floats, Floats]:
    """Return offsets (c, 2) of a track, m, evenly spread over a disc, and the logarithm of their weights."""
    count, reach = 160, float(np.clip(3.5 * sd_m, 6.0, 24.0))
    i = np.arange(count) + 0.5
    radius, angle = reach * np.sqrt(i / count), i * np.pi * (3.0 - np.sqrt(5.0))
    weight = np.exp(-0.5 * (radius / sd_m) ** 2) + 0.05 * np.exp(-0.5 * (radius / (2.5 * sd_m)) ** 2)
    off = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    return off.astype(np.float32), np.log(weight / weight.sum()).astype(np.float32)


def _by_all_at_alarm(each: Sequence[Floats | None]) -> list[Floats | None]:
    """Return the log-likelihood of each shift from what all people did at the alarm, or an empty list."""
    told = [one for one in each if one is not None]
    if not told:
        return []
    return [np.logaddexp(np.sum(told, axis=0), np.log(ELSE))]


def _at_alarm(track: Track, rows: Sequence[TimedSplit]) -> Floats | None:
    """Return the log-likelihood of each shift from a person's setting off; None if no alarm is known."""
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
    """Return places (n, 2) at seconds, with short dropouts filled by straight walks."""
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
