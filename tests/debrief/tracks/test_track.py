from __future__ import annotations

import gpxpy
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod

from amount import examples
from coldfield.debrief.tracks.lengths import recorded_length_m
from coldfield.debrief.tracks.track import BIAS_M, clean
from coldfield.drill.recorded import Recorded
from coldfield.errors import BadInput
from coldfield.files.track_file import read_track_file
from coldfield.message import message
from coldfield.words import say
from recorded_tracks import BOWL, DATA, NOON, site_at, straight, walk

TIMED = [
    ("gpxpy/cerknicko-jezero.gpx", 0),
    ("gpxpy/cerknicko-jezero.gpx", 1),
    ("gpxpy/korita-zbevnica.gpx", 1),
    ("gpxpy/korita-zbevnica.gpx", 2),
    ("gpxpy/track-with-empty-segment.gpx", 0),
    ("sweat/activity_5039744860.gpx", 0),
    ("gpxo/ExampleTrack.gpx", 0),
]


def _read(name: str) -> tuple[Recorded, ...]:
    recorded, faults = read_track_file((DATA / name).read_bytes(), name.rpartition("/")[2])
    assert not faults
    return recorded


@pytest.mark.parametrize(("name", "index"), TIMED)
def test_independent_route_gpxpy_measures_the_same_length_and_time(name: str, index: int) -> None:
    # gpxpy reads the file independently and measures on a sphere of 111,120 m per degree; along a parallel
    # that is up to 0.5 % short of WGS84 at these latitudes.
    tracks = [t for t in gpxpy.parse((DATA / name).read_text(encoding="utf-8")).tracks if t.length_2d()]
    theirs = tracks[index]
    recorded = _read(name)[index]
    ours = clean([recorded], site_at(recorded))
    assert ours.points == sum(len(s.points) for s in theirs.segments)
    assert ours.raw_length_m == pytest.approx(theirs.length_2d(), rel=5e-3)
    bounds = theirs.get_time_bounds()
    assert ours.seconds == pytest.approx((bounds.end_time - bounds.start_time).total_seconds(), abs=1e-3)


@pytest.mark.parametrize(("name", "index"), TIMED)
def test_independent_route_geodesics_of_proj_have_the_same_length(name: str, index: int) -> None:
    recorded = _read(name)[index]
    lat, lon = np.degrees(recorded.place).T
    steps = Geod(ellps="WGS84").inv(lon[:-1], lat[:-1], lon[1:], lat[1:])[2]
    same = np.diff(recorded.segment) == 0
    assert recorded_length_m(recorded.place, recorded.segment) == pytest.approx(
        float(np.sum(steps[same])), rel=1e-6
    )


def test_independent_route_fit_and_gpx_of_one_activity_agree() -> None:
    # Two programs wrote these files from one recording. FIT angles are whole semicircles: 1 cm.
    from_gpx, from_fit = _read("sweat/activity_5039744860.gpx")[0], _read("sweat/2020-06-01-16-52-40.fit")[0]
    np.testing.assert_array_equal(from_gpx.unix_s, from_fit.unix_s)
    np.testing.assert_allclose(from_gpx.place, from_fit.place, atol=2 * np.pi / 2**31)
    site = site_at(from_gpx)
    a, b = clean([from_gpx], site), clean([from_fit], site)
    assert (a.points, a.seconds, len(a.pieces)) == (b.points, b.seconds, len(b.pieces))
    assert a.raw_length_m == pytest.approx(b.raw_length_m, abs=0.1)
    assert a.length_m == pytest.approx(b.length_m, abs=0.1)


def test_property_a_straight_walk_keeps_its_length_and_standing_is_taken_out() -> None:
    _, way = straight(200)
    stood = np.vstack([way, np.repeat(way[-1:], 120, axis=0)])
    track = clean([walk(np.arange(len(stood)), stood)], BOWL)
    assert track.seconds == 320
    assert track.length_m == pytest.approx(240.0, abs=3.0)  # the smoother rounds the stop by about 2 m
    noisy = stood + np.random.default_rng(4).normal(0, 1.5, stood.shape)
    rough = clean([walk(np.arange(len(noisy)), noisy)], BOWL)
    assert rough.raw_length_m > 400
    assert rough.length_m == pytest.approx(240.0, rel=0.06)


def test_property_length_is_measured_on_the_snow() -> None:
    from dataclasses import replace

    t, way = straight(100)
    steep = replace(BOWL, slope_rad=np.radians(30.0), aspect_rad=np.pi)
    flat, sloped = clean([walk(t, way)], BOWL), clean([walk(t, way)], steep)
    assert sloped.length_m == pytest.approx(flat.length_m / np.cos(np.radians(30.0)), rel=1e-6)
    assert sloped.raw_length_m == flat.raw_length_m


@given(order=st.permutations(range(3)), late=st.floats(0.5, 600))
@examples(25)
def test_property_order_of_files_of_one_person_does_not_matter(order: list[int], late: float) -> None:
    t, way = straight(60)
    parts = [walk(t + i * (60 + late), way) for i in range(3)]
    joined = clean([parts[i] for i in order], BOWL)
    assert joined.points == 183
    assert joined.raw_length_m == pytest.approx(3 * 72.0, rel=1e-3)
    assert (np.diff(np.concatenate([p.unix_s for p in joined.pieces])) > 0).all()


def test_contract_a_few_outliers_and_repeats_are_left_out_and_said() -> None:
    t, way = straight(100)
    way[40] += (300.0, 0.0)
    t[70] = t[69]
    track = clean([walk(t, way)], BOWL)
    assert track.length_m == pytest.approx(120.0, abs=2.0)
    assert message("note.outliers", n=1) in track.notes
    assert any("with the time of the previous one" in say(note) for note in track.notes)


def test_contract_a_pause_while_moving_is_a_gap_and_nothing_is_known_inside() -> None:
    t, way = straight(100)
    keep = (t <= 40) | (t >= 65)
    track = clean([walk(t[keep], way[keep])], BOWL)
    assert len(track.pieces) == 2
    position, _ = track.at(NOON + np.array([39.0, 50.0, 66.0]))
    assert np.isfinite(position[:, 0]).tolist() == [True, False, True]
    assert track.length_m == pytest.approx(120.0, abs=2.0)


def test_contract_accuracy_holds_the_drifting_part() -> None:
    track = clean([walk(*straight(100))], BOWL)
    assert track.accuracy_m == pytest.approx(np.hypot(track.white_m, BIAS_M))
    assert track.accuracy_m > 3.0


def _fault(recorded: Recorded) -> str:
    with pytest.raises(BadInput) as caught:
        clean([recorded], BOWL)
    assert len(caught.value.lines()) == 1
    assert str(caught.value).startswith("ines.gpx: ")
    return str(caught.value)


def test_contract_bad_tracks_end_in_one_clear_line() -> None:
    t, way = straight(100)
    assert "run backwards" in _fault(walk(t[::-1], way))
    assert "no times" in _fault(walk(np.full(101, np.nan), way))
    assert "one point" in _fault(walk(t[:1], way[:1]))
    assert "the same time" in _fault(walk(np.zeros(101), way))
    assert "another valley" in _fault(walk(t, way + 5000.0))
    assert "none of its points" in _fault(walk(t, np.full_like(way, np.nan)))


def test_contract_coordinates_in_the_other_order_are_told() -> None:
    good = walk(*straight(20))
    bad = Recorded(
        file="ines.gpx", name="", unix_s=good.unix_s, place=good.place[:, ::-1], segment=good.segment
    )
    assert "are swapped" in _fault(bad)


def test_contract_two_people_in_one_track_are_told_apart_from_noise() -> None:
    t, way = straight(100)
    other = way + np.array([35.0, 10.0])
    after = walk(np.concatenate([t, t]), np.vstack([way, other]))
    assert "two people in one file" in _fault(after)
    same_second = walk(np.repeat(t, 2), np.stack([way, other], axis=1).reshape(-1, 2))
    assert "two people in one file" in _fault(same_second)
    half_second = walk(np.stack([t, t + 0.5], axis=1).ravel(), np.stack([way, other], axis=1).reshape(-1, 2))
    assert "two people in one track" in _fault(half_second)


def test_property_pauses_of_hours_stay_gaps_and_cost_nothing() -> None:
    # Two walks five hours apart, then single points two hours apart: all of them would be 'usual steps'.
    t, way = straight(60)
    later = np.concatenate([t, t[-1] + 18_000 + t[:60]])
    track = clean([walk(later, np.vstack([way, way[:60] + 5.0]))], BOWL)
    assert [piece.unix_s.size for piece in track.pieces] == [len(t), 60]
    position, _ = track.at(np.array([track.start_unix_s + 9000.0]))
    assert np.isnan(position).all()
    with pytest.raises(BadInput, match="no two points that belong together"):
        clean([walk(np.arange(12) * 7200.0, way[:12])], BOWL)
    with pytest.raises(BadInput, match="more than a day apart"):
        clean([walk(t, way), walk(t + 21_000_000, way)], BOWL)
