"""The demo: an invented drill, one run of its rehearsal as recorded by four phones, and the debrief."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from coldfield.app.drills.files import save_drill, write_whole
from coldfield.app.strips.lanes import lanes_for
from coldfield.debrief.tracks.device_noise import record
from coldfield.drill.drill import Drill
from coldfield.drill.frame import SiteFrame
from coldfield.drill.run import Split, Splits
from coldfield.errors import Refused
from coldfield.files.drill_json import read_drill
from coldfield.files.gpx import write_gpx
from coldfield.files.run_csv import write_splits
from coldfield.message import message
from coldfield.rescue.played import Played, Trace
from coldfield.rescue.player.play import play

Floats = NDArray[np.float64]

SEED = 20260214
RUN = 31
ALARM_UNIX_S = datetime(2026, 2, 14, 9, 30, tzinfo=UTC).timestamp()
OBSERVATIONS = (
    (12.0, None, "leader named: Ines"),
    (20.0, None, "emergency call acted out"),
    (25.0, "tomas", "phone not put away"),
)
ABOUT = """Coldfield demo: {name}

Everything here is invented. The tracks were made in the computer: one run of the rehearsal of drill.json
(seed {seed}, run {run}), written down as a phone would, with position errors of {white} m from point to point
and {bias} m that drift over {correlation} s, independent for each phone; before and after the run everybody
stood at the cairn. Nobody walked them.

drill.json      the drill
splits.csv      split times and observations of the run
tracks/*.gpx    what four phones would have recorded
debrief.html    the debrief of that run: opens in any browser, offline
"""
WHITE_M, BIAS_M, CORRELATION_S = 0.7, 1.5, 900.0
"""Errors of the invented phones: good ones under an open sky."""

STAND_S, WALK_M_S, WAIT_S = 50.0, 1.2, 60.0
"""Before and after the run everybody stands at the first anchor, with the phone in the lid of the pack."""
SPLIT_TIMES = (
    ("first_signal", "first_signal_s"),
    ("within_10_m", "within_10_m_s"),
    ("lowest_reading", "lowest_reading_s"),
    ("probe_strike", "probe_strike_s"),
    ("airway_clear", "airway_s"),
)


def demo_drill() -> Drill:
    """Return the demo's drill, which ships with the package."""
    text = files("coldfield.app.demo").joinpath("drill.json").read_text(encoding="utf-8")
    return read_drill(text, "demo/drill.json")


def demo_run(drill: Drill) -> Played:
    """Return the run of the rehearsal that the demo shows."""
    return play(drill, lanes_for(drill), seed=SEED, run=RUN)


def demo_folder(folder: Path | str) -> Path:
    """Return the folder of a demo, created if missing, with its drill and a text that describes it.

    Raises
    ------
    Refused
        If the folder exists and contains something other than an earlier demo.
    """
    place = Path(folder)
    if place.exists() and (
        not place.is_dir() or (any(place.iterdir()) and not (place / "ABOUT.txt").exists())
    ):
        raise Refused(message("fault.demo_folder_taken").at(str(place)))
    place.mkdir(parents=True, exist_ok=True)
    about = ABOUT.format(
        name=demo_drill().name,
        seed=SEED,
        run=RUN,
        white=WHITE_M,
        bias=BIAS_M,
        correlation=int(CORRELATION_S),
    )
    write_whole(place / "ABOUT.txt", about.encode())
    save_drill(demo_drill(), place / "drill.json")
    return place


def write_demo_run(place: Path) -> None:
    """Write drill, splits and tracks of the demo into a folder, created if missing."""
    (place / "tracks").mkdir(parents=True, exist_ok=True)
    drill = demo_drill()
    played = demo_run(drill)
    save_drill(drill, place / "drill.json")
    write_whole(place / "splits.csv", write_splits(_splits(played)).encode())
    _write_tracks(drill, played, place / "tracks")


def _splits(played: Played) -> Splits:
    rows = [Split(split="alarm", time_unix_s=ALARM_UNIX_S)]
    for times in played.burials:
        for split, name in SPLIT_TIMES:
            moment = getattr(times, name)
            if not np.isnan(moment):
                rows.append(
                    Split(
                        split=split,
                        searcher=times.finder,
                        burial=times.burial,
                        time_unix_s=ALARM_UNIX_S + round(float(moment)),
                    )
                )
    rows += [
        Split(split="observation", searcher=who, time_unix_s=ALARM_UNIX_S + at, note=words)
        for at, who, words in OBSERVATIONS
    ]
    return Splits(rows=tuple(sorted(rows, key=lambda row: row.time_unix_s or 0.0)))


def _write_tracks(drill: Drill, played: Played, folder: Path) -> None:
    frame = SiteFrame(drill.site.origin)
    for number, trace in enumerate(played.traces):
        rng = np.random.Generator(np.random.Philox(key=SEED, counter=number))
        t_s, line = by_the_anchor(trace, drill.site.anchors[0].position_m)
        t_s, position_m = record(
            t_s, line, rng=rng, white_m=WHITE_M, bias_m=BIAS_M, correlation_s=CORRELATION_S
        )
        latitude, longitude = frame.to_wgs84(position_m)
        pieces = [(ALARM_UNIX_S + t_s, latitude, longitude)]
        text = write_gpx([(trace.searcher, pieces)], simulated=True)
        write_whole(folder / f"{trace.searcher}.gpx", text.encode())


def by_the_anchor(trace: Trace, anchor_m: tuple[float, float]) -> tuple[Floats, Floats]:
    """Return times (n,), s, and places (n, 2), m, of a walk with stands at an anchor before and after."""
    line = np.stack([trace.east_m, trace.north_m], axis=-1)
    anchor = np.array(anchor_m)
    there, back = (float(np.linalg.norm(line[i] - anchor)) / WALK_M_S for i in (0, -1))
    start, end = float(trace.t_s[0]) - WAIT_S, float(trace.t_s[-1])
    before = [start - there - STAND_S, start - there, start]
    after = [end + back, end + back + STAND_S]
    return (
        np.concatenate([before, trace.t_s, after]),
        np.vstack([anchor, anchor, line[:1], line, anchor, anchor]),
    )
