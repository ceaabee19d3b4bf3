"""Speed of a debrief: twelve people, one hour at 1 s each, read from GPX."""

from __future__ import annotations

import time
from datetime import UTC, datetime

import numpy as np
import pytest

from coldfield.app.debriefs.from_files import RunFiles, debrief
from coldfield.debrief.document import DebriefDocument
from coldfield.debrief.tracks.device_noise import record
from coldfield.drill import Drill, Split, Splits
from coldfield.drill.frame import SiteFrame
from coldfield.files.track_file import read_track_file
from goal import against_goal
from made_walks import burial, drill
from recorded_tracks import NOON, VARDHOLM

BURIALS = (("A", (22.0, 41.0), 40.0), ("B", (45.0, 60.0), 120.0), ("C", (10.0, 70.0), 200.0))


def _drill() -> Drill:
    burials = [burial(name, place, azimuth_deg=azimuth) for name, place, azimuth in BURIALS]
    return drill(*burials, people=tuple((f"s{i}", f"Person {i}") for i in range(12)))


def _gpx(i: int, rng: np.random.Generator) -> bytes:
    t = np.arange(3601.0)
    way = np.column_stack([30 + 25 * np.sin(t / 97 + i), 40 + 35 * np.sin(t / 61 + 2 * i)])
    moments, place = record(t, way, rng=rng)
    out = ['<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>']
    for s, lat, lon in zip(moments, *np.degrees(SiteFrame(VARDHOLM).to_wgs84(place)), strict=True):
        when = datetime.fromtimestamp(NOON + s, UTC).isoformat()
        out.append(f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><ele>1180</ele><time>{when}</time></trkpt>')
    return "\n".join([*out, "</trkseg></trk></gpx>"]).encode()


def _splits() -> Splits:
    rows = [Split(split="alarm", time_unix_s=NOON)]
    for k, (struck, _, _) in enumerate(BURIALS):
        for kind, after in (("probe_strike", 0), ("airway_clear", 300)):
            moment = NOON + 900 * (k + 1) + after
            rows.append(Split(split=kind, searcher=f"s{k}", burial=struck, time_unix_s=moment))
    return Splits(rows=tuple(rows))


def _whole(files: list[tuple[str, bytes]], planned: Drill, splits: Splits) -> DebriefDocument:
    recorded = [one for name, data in files for one in read_track_file(data, name)[0]]
    return debrief(RunFiles(drill=planned, recorded=tuple(recorded), splits=splits)).document


def test_twelve_tracks_of_one_hour(benchmark: pytest.FixtureRequest) -> None:
    rng = np.random.default_rng(1)
    files = [(f"s{i}.gpx", _gpx(i, rng)) for i in range(12)]
    planned, splits = _drill(), _splits()
    document = _whole(files, planned, splits)
    assert len(document.searchers) == 12
    times = []
    for _ in range(3):
        start = time.process_time()
        _whole(files, planned, splits)
        times.append(time.process_time() - start)
    benchmark.extra_info["cpu_s"] = min(times)
    benchmark.pedantic(_whole, args=(files, planned, splits), rounds=3)
    against_goal("debrief of twelve tracks of one hour", min(times), 2.0)
