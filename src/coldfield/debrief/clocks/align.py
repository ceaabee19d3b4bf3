"""Tracks and splits on one clock: the zero of the run, clocks that are off, runs of another day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.clocks.keeper_clock import SEARCHED_S, SPLITS, KeeperClock, keeper_clock
from coldfield.debrief.clocks.run_splits import RunSplits, TimedSplit, timed
from coldfield.debrief.tracks.track import Track
from coldfield.drill.drill import Drill
from coldfield.drill.run import Splits
from coldfield.message import Message, Quantity, about, duration, message

Floats = NDArray[np.float64]

FROM_ALARM, FROM_TRACK, FROM_SPLIT = "alarm split", "first track point", "first split"
"""The possible zeros of a run, in words."""

DAY_S = 86_400.0
STEPS_S = (DAY_S, 3600.0, 1800.0, 900.0)
MOST_OFF_S = 2 * DAY_S
"""A clock that is off by more was not set wrong: the track is of another run. Setting."""

LONGEST_S = 4 * 3600.0
"""The longest run that is evaluated, s. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Aligned:
    """A run on one clock. `zero` says what `zero_unix_s` is: the alarm, the first track point or the
    first split.

    `dated` is False if the time of day is unknown; `zero_unix_s` is then 0. `alarm_from_run` means that the
    time of the alarm comes from the time entered for the run, not from a split.

    `splits_shift_s` was added to the clock of the splits; `splits_shift_from` is 'typed' or 'found', None if
    it was not shifted.
    """

    tracks: Mapping[str, Track]
    splits: RunSplits
    zero_unix_s: float
    zero: str
    alarm_unix_s: float | None
    end_s: float
    notes: tuple[Message, ...]
    faults: tuple[Message, ...]
    splits_shift_s: float = 0.0
    splits_shift_from: str | None = None
    dated: bool = True
    alarm_from_run: bool = False

    def zero_off_s(self) -> Floats:
        """Return the reading of the tracks' clock at second 0 of the run in each variant, (WAYS,)."""
        off = self.splits.clock_off_s()
        return np.zeros_like(off) if self.zero == FROM_TRACK else off


def align(
    tracks: Mapping[str, Track],
    splits: Splits,
    drill: Drill,
    *,
    shifts_s: Mapping[str, float] | None = None,
) -> Aligned:
    """Return tracks and splits on the run's clock.

    Parameters
    ----------
    tracks : mapping
        Searcher id -> cleaned track.
    splits : Splits
        With ids instead of names.
    drill : Drill
        Its burials give the positions of people at splits.
    shifts_s : mapping, optional
        The correction of a clock, by file name, or 'splits' for the split-keeper's. A given shift is used
        unchanged; for the split-keeper's clock no other is then estimated.

    Notes
    -----
    Recorders with satellite time share one clock and are never shifted automatically. The split-keeper's
    clock is shifted only if an error is more likely than not (`coldfield.debrief.clocks.keeper_clock`); a
    note gives the shift and its uncertainty.
    """
    given = dict(shifts_s or {})
    untimed = tuple(row for row in splits.rows if not row.timed)
    splits = Splits(rows=tuple(row for row in splits.rows if row.timed))
    moved, notes = _moved(tracks, given)
    on_utc = {who: t for who, t in moved.items() if t.clock == "utc"}
    alarm = splits.alarm_unix_s()
    kept, faults = _same_run(on_utc, splits, bool(given))
    relative = any(row.since_alarm_s is not None for row in splits.rows)
    starts = [t.start_unix_s for t in kept.values()]
    absolute = bool(splits.rows) and any(row.time_unix_s is not None for row in splits.rows)
    shift, clock = given.get("splits", 0.0), KeeperClock()
    if alarm is not None:
        zero, words = alarm, FROM_ALARM
    elif relative and not absolute and (starts or not tracks):
        zero, words = min(starts, default=0.0), FROM_ALARM
        notes += [message("note.alarm_at_track")] if starts else []
    elif tracks:
        zero, words = min(starts, default=0.0), FROM_TRACK
    else:
        zero, words = _first_moment(splits), FROM_SPLIT
    if not tracks:
        clock = KeeperClock(checked=False)
    elif splits.rows and "splits" not in given:
        clock = keeper_clock(kept, _by_keeper(splits, zero), drill, free=not absolute)
        shift = clock.shift_s
        notes += clock.notes
    elif shift:
        notes.append(message("note.clock_moved", shift=duration(shift)).at(SPLITS))
    counted_from = alarm if alarm is not None else (zero if relative else None)
    rows = timed(splits, alarm_unix_s=counted_from, zero_unix_s=zero, shift_s=shift)
    if words != FROM_TRACK:
        zero += shift
        rows = tuple(replace(row, t_s=row.t_s - shift) for row in rows)
    timeless = {who: track.shifted(zero) for who, track in moved.items() if track.clock == "own"}
    own = message("note.seconds_from_alarm" if words == FROM_ALARM else "note.seconds_from_track")
    notes += [own.at(track.file) for track in timeless.values()]
    kept |= timeless
    kept, outside = _within_run(kept, rows, zero, words)
    faults += outside
    end = _end(kept, rows, zero, drill, notes)
    return Aligned(
        tracks={s.id: kept[s.id] for s in drill.searchers if s.id in kept},
        splits=RunSplits(
            rows=rows,
            untimed=untimed,
            uncertainty_s=clock.doubt_s,
            checked=clock.checked,
            off_s=clock.off_s,
        ),
        zero_unix_s=zero,
        zero=words,
        alarm_unix_s=alarm + shift if alarm is not None else None,
        end_s=end,
        notes=tuple(notes),
        faults=tuple(faults),
        splits_shift_s=shift,
        splits_shift_from=("typed" if "splits" in given else "found") if shift else None,
        dated=bool(starts) or absolute,
    )


def _moved(
    tracks: Mapping[str, Track], shifts_s: Mapping[str, float]
) -> tuple[dict[str, Track], list[Message]]:
    """Return tracks with the given clock shifts, and a note for each."""
    moved, notes = dict(tracks), []
    for who, track in tracks.items():
        if shift := shifts_s.get(track.file, 0.0):
            moved[who] = track.shifted(shift)
            notes.append(message("note.clock_moved", shift=duration(shift)).at(track.file))
    return moved, notes


def _by_keeper(splits: Splits, zero: float) -> tuple[TimedSplit, ...]:
    """Return the splits by the keeper's clock, with the alarm from which others are counted."""
    alarm = splits.alarm_unix_s()
    rows = timed(splits, alarm_unix_s=alarm if alarm is not None else zero, zero_unix_s=0.0)
    if alarm is not None or all(row.since_alarm_s is None for row in splits.rows):
        return rows
    return (TimedSplit(t_s=zero, split="alarm", searcher=None, burial=None, note=""), *rows)


def _first_moment(splits: Splits) -> float:
    return min((row.time_unix_s for row in splits.rows if row.time_unix_s is not None), default=0.0)


def _same_run(
    tracks: Mapping[str, Track], splits: Splits, shifted: bool
) -> tuple[dict[str, Track], list[Message]]:
    """Return the tracks that overlap the run in time, and a note for each other one."""
    moments = [row.time_unix_s for row in splits.rows if row.time_unix_s is not None]
    if moments:
        first, last = min(moments), max(moments) + (600.0 if len(moments) == 1 else 0.0)
        margin = float(SEARCHED_S)
    elif tracks:
        first, last = _main_stretch(list(tracks.values()))
        margin = 0.0
    else:
        return {}, []
    kept: dict[str, Track] = {}
    faults: list[Message] = []
    for who, track in tracks.items():
        if track.start_unix_s <= last + margin and track.end_unix_s >= first - margin:
            kept[who] = track
        else:
            faults.append(_elsewhen(track, first, last, bool(moments)))
    return kept, faults


def _within_run(
    tracks: Mapping[str, Track], rows: tuple[TimedSplit, ...], zero: float, words: str
) -> tuple[dict[str, Track], list[Message]]:
    """Remove tracks that, on the final clock, end before the alarm or begin long after the last split."""
    last = max((row.t_s for row in rows), default=0.0)
    kept: dict[str, Track] = {}
    faults: list[Message] = []
    for who, track in tracks.items():
        early = words == FROM_ALARM and track.end_unix_s < zero
        late = len(rows) > 1 and track.start_unix_s > zero + last + 600.0
        if early or late:
            faults.append(_elsewhen(track, zero, zero + last, True))
        else:
            kept[who] = track
    return kept, faults


def _main_stretch(tracks: list[Track]) -> tuple[float, float]:
    """Return the span of the largest set of tracks that overlap each other; of equal ones, the first."""
    best: list[Track] = []
    for one in tracks:
        group = [t for t in tracks if t.start_unix_s <= one.end_unix_s and t.end_unix_s >= one.start_unix_s]
        if len(group) > len(best):
            best = group
    return min(t.start_unix_s for t in best), max(t.end_unix_s for t in best)


_ELSEWHEN = {
    ("before", "splits"): "fault.before_the_splits",
    ("after", "splits"): "fault.after_the_splits",
    ("before", "tracks"): "fault.before_the_tracks",
    ("after", "tracks"): "fault.after_the_tracks",
}


def _clock_off_s(track: Track, first: float, last: float) -> float:
    """Return the shift of a clock, s: the roundest one that moves the track to the time of the run.

    `frontend/src/runs/offsets.ts` computes it in the same way.
    """
    middle = (first + last - track.start_unix_s - track.end_unix_s) / 2
    near = max(last - first, track.end_unix_s - track.start_unix_s) / 2
    for step in STEPS_S:
        off = round(middle / step) * step
        if off and abs(middle - off) <= near:
            return off
    return round(middle / STEPS_S[-1]) * STEPS_S[-1]


def _elsewhen(track: Track, first: float, last: float, splits: bool) -> Message:
    gap = first - track.end_unix_s if track.end_unix_s < first else last - track.start_unix_s
    off = _clock_off_s(track, first, last)
    days, rest = divmod(abs(off), DAY_S)
    if days >= 2 or (days and not rest):
        span: Message | Quantity = message("term.days", n=round(abs(off) / DAY_S))
    else:
        span = duration(abs(off)) if off else about(abs(gap))
    code = _ELSEWHEN["before" if gap > 0 else "after", "splits" if splits else "tracks"]
    said = message(code, span=span)
    if off and abs(off) <= MOST_OFF_S:
        said = message("fault.another_zone", said=said, shift=duration(off))
    return said.at(track.file)


def _end(
    tracks: Mapping[str, Track],
    rows: tuple[TimedSplit, ...],
    zero: float,
    drill: Drill,
    notes: list[Message],
) -> float:
    last_track = max((t.end_unix_s - zero for t in tracks.values()), default=0.0)
    last_split = max((row.t_s for row in rows), default=0.0)
    end = max(last_track, last_split, 1.0)
    done = {row.burial for row in rows if row.split in ("airway_clear", "set_out")}
    if drill.burials and all(b.id in done for b in drill.burials) and end > last_split + 600.0:
        end = last_split + 60.0
        notes.append(message("note.after_last_split"))
    if end > LONGEST_S:
        end = LONGEST_S
        most = duration(LONGEST_S)
        notes.append(
            message("note.looked_at_from_alarm", most=most)
            if rows
            else message("note.looked_at_from_start", most=most)
        )
    return float(end)
