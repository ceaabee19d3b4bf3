"""Tracks and splits on one clock: the zero of the run, clocks that are off, runs of another day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.clock import RunSplits, TimedSplit, timed
from coldfield.debrief.track import Track
from coldfield.drill.drill import Drill
from coldfield.drill.run import Splits

Floats = NDArray[np.float64]

LONGEST_S = 4 * 3600.0
"""A run is looked at for at most so long. Setting."""

FINE_S = 30.0
"""A lowest reading comes some half of this after the arrival at a burial, seldom twice it. Setting."""

ENOUGH = 16.0
"""A shift must mend at least so much misfit, in squared deviations; less is a track's drift. Setting."""

UNKNOWN = 5.0
"""What a moment outside a track counts, as a misfit in squared deviations: neither for nor against."""

SEARCHED_S = 3600
"""A split-keeper's clock is looked for within so much of that of the tracks. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Aligned:
    """A run on one clock. `zero_unix_s` is the alarm, or the first track point where `zero` says so.

    `splits_shift_s` was added to the clock of the splits; `splits_shift_from` is 'typed' or 'found',
    None where it was not moved.
    """

    tracks: Mapping[str, Track]
    splits: RunSplits
    zero_unix_s: float
    zero: str
    alarm_unix_s: float | None
    end_s: float
    notes: tuple[str, ...]
    faults: tuple[str, ...]
    splits_shift_s: float = 0.0
    splits_shift_from: str | None = None


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
        Names already turned into ids.
    drill : Drill
        Burials tell where people stood at a split.
    shifts_s : mapping, optional
        What to add to a clock: by file name, or 'splits' for the split-keeper's. A shift given here
        is taken as it is; the split-keeper's is then not looked for.

    Notes
    -----
    Recorders that take their time from satellites share one clock and are never shifted by
    themselves. The split-keeper's clock is moved only where people were not where a split says they
    must have been, and moving it mends that; by how much, and how well that is known, is noted.
    """
    given = dict(shifts_s or {})
    notes: list[str] = []
    moved = {}
    for who, track in tracks.items():
        shift = given.get(track.file, 0.0)
        moved[who] = track.shifted(shift) if shift else track
        if shift:
            notes.append(f"{track.file}: clock shifted by {shift:+.0f} s, as asked for")
    on_utc = {who: t for who, t in moved.items() if t.clock == "utc"}
    alarm = splits.alarm_unix_s()
    kept, faults = _same_run(on_utc, splits, bool(given))
    relative = any(row.since_alarm_s is not None for row in splits.rows)
    starts = [t.start_unix_s for t in kept.values()]
    absolute = bool(splits.rows) and any(row.time_unix_s is not None for row in splits.rows)
    shift, doubt = given.get("splits", 0.0), 0.0
    if alarm is not None:
        zero, words = alarm, "alarm split"
    elif relative and not absolute and starts:
        zero, words = min(starts), "alarm split"
        notes.append("no split tells the time of day; the alarm is taken at the first track point")
    else:
        zero, words = (min(starts) if starts else 0.0), "first track point"
    if splits.rows and "splits" not in given:
        shift, doubt, said = _split_keeper(kept, splits, drill, alarm=alarm, zero=zero, free=not absolute)
        notes += said
    elif shift:
        notes.append(f"splits: clock shifted by {shift:+.0f} s, as asked for")
    rows = timed(
        splits,
        alarm_unix_s=alarm if alarm is not None else (zero if relative else None),
        zero_unix_s=zero,
        shift_s=shift,
    )
    if words == "alarm split":
        zero += shift
        rows = tuple(replace(row, t_s=row.t_s - shift) for row in rows)
    for who, track in moved.items():
        if track.clock == "own":
            kept[who] = track.shifted(zero)
            notes.append(f"{track.file}: its seconds are taken as seconds from the {words}")
    kept, outside = _within_run(kept, rows, zero, words)
    faults += outside
    end = _end(kept, rows, zero, drill, notes)
    return Aligned(
        tracks={s.id: kept[s.id] for s in drill.searchers if s.id in kept},
        splits=RunSplits(rows=rows, uncertainty_s=doubt),
        zero_unix_s=zero,
        zero=words,
        alarm_unix_s=(alarm + shift if alarm is not None else None),
        end_s=end,
        notes=tuple(notes),
        faults=tuple(faults),
        splits_shift_s=shift,
        splits_shift_from=("typed" if "splits" in given else "found") if shift else None,
    )


def _same_run(
    tracks: Mapping[str, Track], splits: Splits, shifted: bool
) -> tuple[dict[str, Track], list[str]]:
    """Tracks that overlap the run in time, and a line for each that does not."""
    moments = [row.time_unix_s for row in splits.rows if row.time_unix_s is not None]
    if moments:
        first, last = min(moments), max(moments) + (600.0 if len(moments) == 1 else 0.0)
        margin = float(SEARCHED_S)
    elif tracks:
        first, last = _main_stretch(list(tracks.values()))
        margin = 0.0
    else:
        return {}, []
    kept, faults = {}, []
    for who, track in tracks.items():
        if track.start_unix_s <= last + margin and track.end_unix_s >= first - margin:
            kept[who] = track
        else:
            faults.append(_elsewhen(track, first, last, bool(moments)))
    return kept, faults


def _within_run(
    tracks: Mapping[str, Track], rows: tuple[TimedSplit, ...], zero: float, words: str
) -> tuple[dict[str, Track], list[str]]:
    """Once the clocks stand: tracks that end before the alarm, or begin long after the last split."""
    last = max((row.t_s for row in rows), default=0.0)
    kept, faults = {}, []
    for who, track in tracks.items():
        early = words == "alarm split" and track.end_unix_s < zero
        late = len(rows) > 1 and track.start_unix_s > zero + last + 600.0
        if early or late:
            faults.append(_elsewhen(track, zero, zero + last, True))
        else:
            kept[who] = track
    return kept, faults


def _main_stretch(tracks: list[Track]) -> tuple[float, float]:
    """The span of the largest set of tracks that overlap one another; of equals, the first given."""
    best: list[Track] = []
    for one in tracks:
        group = [t for t in tracks if t.start_unix_s <= one.end_unix_s and t.end_unix_s >= one.start_unix_s]
        if len(group) > len(best):
            best = group
    return min(t.start_unix_s for t in best), max(t.end_unix_s for t in best)


def _elsewhen(track: Track, first: float, last: float, splits: bool) -> str:
    away = first - track.end_unix_s if track.end_unix_s < first else last - track.start_unix_s
    later = "before" if away > 0 else "after"
    size = abs(away)
    span = f"{size / 86400:.0f} days" if size > 2 * 86400 else f"{size / 3600:.1f} h"
    what = "the splits" if splits else "the other tracks"
    hours = round((first + last - track.start_unix_s - track.end_unix_s) / 2 / 900) * 900
    mend = f"; if its clock shows another zone, shift it by {hours:+d} s" if abs(hours) <= 14 * 3600 else ""
    return f"{track.file}: lies {span} {later} {what}, no overlap in time: another run{mend}"


def _end(
    tracks: Mapping[str, Track],
    rows: tuple[TimedSplit, ...],
    zero: float,
    drill: Drill,
    notes: list[str],
) -> float:
    last_track = max((t.end_unix_s - zero for t in tracks.values()), default=0.0)
    last_split = max((row.t_s for row in rows), default=0.0)
    end = max(last_track, last_split, 1.0)
    done = {row.burial for row in rows if row.split in ("airway_clear", "set_out")}
    if drill.burials and all(b.id in done for b in drill.burials) and end > last_split + 600.0:
        end = last_split + 60.0
        notes.append("what was recorded more than a minute after the last split is left out")
    if end > LONGEST_S:
        end = LONGEST_S
        notes.append(f"looked at up to {LONGEST_S / 3600:.0f} h after the {'alarm' if rows else 'start'}")
    return float(end)


def _split_keeper(
    tracks: Mapping[str, Track],
    splits: Splits,
    drill: Drill,
    *,
    alarm: float | None,
    zero: float,
    free: bool,
) -> tuple[float, float, list[str]]:
    """How far the split-keeper's clock is off, how well that is known, and what to say about it."""
    checks = _checks(tracks, splits, drill, start_unix_s=alarm if alarm is not None else zero)
    if not checks:
        return 0.0, 0.0, []
    shifts = np.arange(-SEARCHED_S, SEARCHED_S + 1.0)
    score = np.sum([check.misfit(shifts) for check in checks], axis=0)
    now = float(score[SEARCHED_S])
    best = float(score.min())
    outside = now >= UNKNOWN * len(checks) - 1e-9  # every split lies where no track tells anything
    if now - best < ENOUGH and not (free or outside):
        return 0.0, 0.0, []
    if best > len(checks):
        words = "splits: people were not where the splits say, and no shift of the clock mends it"
        return 0.0, 0.0, [words] if now >= 4.0 * len(checks) else []
    good = np.flatnonzero(score <= best + 4.0)
    groups = np.split(good, np.flatnonzero(np.diff(good) > 60) + 1)
    if len(groups) > 1 and not free:
        words = "splits: people were not where the splits say; several shifts of the clock would mend it"
        return 0.0, 0.0, [words + ", give the right one with --shift splits=SECONDS"]
    group = min(groups, key=lambda g: float(score[g].min()))
    # The first shift that fits puts a lowest reading at the arrival; fine search takes a while from there.
    half = float(shifts[group[-1]] - shifts[group[0]]) / 2.0
    shift = float(shifts[group[0]]) + min(half, FINE_S / 2.0)
    doubt = min(half, FINE_S) + 15.0
    if abs(shift) <= doubt and not free:
        return 0.0, 0.0, []
    return (
        shift,
        doubt,
        [
            f"splits: clock shifted by {shift:+.0f} s (within {doubt:.0f} s), found from where people stood "
            "at lowest readings and strikes; times between a track and a split are no better than that"
        ],
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Check:
    """A split that tells how far its searcher was from a burial: `target_m`, give or take `slack_m`."""

    unix_s: float
    track: Track
    place: Floats
    target_m: float
    slack_m: float
    scale: float

    def misfit(self, shifts: Floats) -> Floats:
        """Squared deviations at each shift, at most 25; `UNKNOWN` outside the track."""
        position, _ = self.track.at(self.unix_s + shifts)
        away = np.linalg.norm(position - self.place, axis=1)
        over = np.maximum(np.abs(away - self.target_m) - self.slack_m, 0.0)
        return np.asarray(
            np.minimum(np.nan_to_num((over / (self.scale * self.track.accuracy_m)) ** 2, nan=UNKNOWN), 25.0)
        )


def _checks(
    tracks: Mapping[str, Track], splits: Splits, drill: Drill, *, start_unix_s: float
) -> list[_Check]:
    """What the splits say about where people were.

    At a lowest reading, a strike and a freed airway the one named stood within 2 m of the burial; at
    'within 10 m' the distance was that of a 10 m reading, which the set's strength and direction move.
    """
    burials = {b.id: b for b in drill.burials}
    searchers = {s.id: s for s in drill.searchers}
    checks = []
    for row in timed(splits, alarm_unix_s=start_unix_s, zero_unix_s=0.0):
        if row.burial not in burials or row.searcher is None or row.searcher not in tracks:
            continue
        burial = burials[row.burial]
        if row.split in ("lowest_reading", "probe_strike", "airway_clear"):
            target, slack, scale = 0.0, 2.0, 2.0  # drifts of 8 m are seen now and then
        elif row.split == "within_10_m" and burial.transmitter is not None:
            reference = searchers[row.searcher].receiver.reference_field_at_10m_a_per_m
            target = 9.0 * (burial.transmitter.field_at_10m_a_per_m / reference) ** (1.0 / 3.0)
            slack, scale = 2.0, 1.5
        else:
            continue
        checks.append(
            _Check(
                unix_s=row.t_s,
                track=tracks[row.searcher],
                place=np.array(burial.position_m),
                target_m=target,
                slack_m=slack,
                scale=scale,
            )
        )
    return checks
