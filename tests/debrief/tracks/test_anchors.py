from __future__ import annotations

import numpy as np
import pytest

from coldfield.debrief.tracks.anchors import lay_on_anchors
from coldfield.debrief.tracks.device_noise import record
from coldfield.debrief.tracks.track import Track, clean
from coldfield.debrief.tracks.ways import path_ways
from coldfield.drill import Anchor
from coldfield.words import say
from recorded_tracks import BOWL, walk

CAIRN, POLE = Anchor(name="cairn", position_m=(0.0, 0.0)), Anchor(name="pole", position_m=(60.0, 0.0))


def _visit(
    *stops: tuple[float, float],
    off: tuple[float, float] = (0.0, 0.0),
    turn_rad: float = 0.0,
    drift_rng: np.random.Generator | None = None,
) -> Track:
    """Stand 40 s at each stop in turn, walking at 1.2 m/s in between; then shift and rotate everything."""
    t, way = [], []
    now = 0.0
    for i, stop in enumerate(stops):
        if i:
            now += max(float(np.hypot(*np.subtract(stop, stops[i - 1]))) / 1.2, 1.0)
        for _ in range(2):
            t.append(now)
            way.append(stop)
            now += 40.0
        now -= 40.0
    seconds = np.arange(0.0, t[-1] + 1.0)
    place = np.column_stack([np.interp(seconds, t, np.array(way)[:, i]) for i in (0, 1)])
    turn = np.array([[np.cos(turn_rad), -np.sin(turn_rad)], [np.sin(turn_rad), np.cos(turn_rad)]])
    place = place @ turn + np.array(off)
    if drift_rng is not None:
        seconds, place = record(seconds, place, rng=drift_rng)
    return clean([walk(seconds, place, file="s1.gpx")], BOWL)


def test_contract_before_and_after_moves_the_track_and_lowers_its_doubt() -> None:
    track = _visit((0, 0), (30, 40), (0, 0), off=(3.0, -2.0))
    laid = lay_on_anchors({"s1": track}, [CAIRN, POLE])
    assert laid.shift_m["s1"] == pytest.approx((-3.0, 2.0), abs=0.2)
    assert [one.place_m for one in laid.tracks["s1"].stood] == [(0.0, 0.0), (0.0, 0.0)]
    zero_s, end_s = track.start_unix_s, track.end_unix_s - track.start_unix_s
    told, alone = (
        path_ways(track, there, zero_unix_s=zero_s, end_s=end_s, number=0)
        for there in (laid.tracks["s1"].stood, ())
    )
    assert told is not None
    assert alone is not None
    np.testing.assert_allclose(told.mean_m[5], [0, 0], atol=0.7)
    assert told.spread_m < 2.0 < alone.spread_m
    assert laid.rotation_rad is None
    assert any("rotation of the tracks unknown" in say(note) for note in laid.notes)


def test_contract_one_visit_or_none_changes_nothing() -> None:
    for track in (_visit((0, 0), (30, 40)), _visit((30, 40), (30, 60))):
        laid = lay_on_anchors({"s1": track}, [CAIRN, POLE])
        assert laid.tracks["s1"] is track
        assert not laid.shift_m
    assert "no anchors" in say(lay_on_anchors({}, []).notes[0])


def test_contract_visits_that_tell_different_things_change_nothing() -> None:
    laid = lay_on_anchors({"s1": _visit((-3, -2), (30, 40), (7, 3))}, [CAIRN, POLE])
    assert len(laid.visits) == 2
    assert not laid.shift_m


def test_independent_route_a_rotation_is_found_and_taken_out_where_it_is_beyond_doubt() -> None:
    # Rotated about the cairn. Two anchors 60 m apart give the angle to 3 to 4 degrees if the device returned
    # to the same place, so 8 degrees are removed and 2 are not.
    for put_in, removed in ((8.0, True), (2.0, False)):
        track = _visit((0, 0), (60, 0), (0, 0), turn_rad=np.radians(put_in))
        laid = lay_on_anchors({"s1": track}, [CAIRN, POLE])
        assert laid.rotation_rad is not None
        assert laid.rotation_doubt_rad is not None
        assert np.degrees(laid.rotation_rad) == pytest.approx(put_in, abs=0.3)
        assert 2.0 < np.degrees(laid.rotation_doubt_rad) < 5.0
        assert laid.rotation_removed is removed
        told = next(note for note in map(say, laid.notes) if "rotated against the plan" in note)
        assert ("corrected in every track" in told) is removed
        if removed:
            (piece,) = laid.tracks["s1"].pieces
            i = int(np.argmin(np.abs(piece.unix_s - piece.unix_s[0] - 110.0)))
            np.testing.assert_allclose(piece.position_m[i] - piece.position_m[5], [60, 0], atol=0.5)
            np.testing.assert_allclose(piece.written_m[i] - piece.written_m[5], [60, 0], atol=0.5)


def test_property_devices_that_only_drift_are_seldom_taken_for_a_plan_askew() -> None:
    # A usual drift, 3 m with 300 s: the uncertainty should hold in 95 % of cases; 8 of 60 is four standard
    # errors above 3.
    rng = np.random.default_rng(8)
    askew = 0
    for _ in range(60):
        stops = [(0, 0), (60, 0), (0, 0), (60, 0)]
        track = _visit(*stops, drift_rng=rng)
        laid = lay_on_anchors({"s1": track}, [CAIRN, POLE])
        askew += laid.rotation_removed
    assert askew <= 8
