from __future__ import annotations

import io
import tracemalloc
import zipfile

import gpxpy
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.debrief.tracks.track import clean
from coldfield.errors import BadInput
from coldfield.files.fit import read_fit
from coldfield.files.gpx import read_gpx, write_gpx
from coldfield.files.track_csv import read_track_csv
from coldfield.files.track_file import read_track_file
from coldfield.files.track_zip import _entries
from coldfield.words import say
from recorded_tracks import BOWL, DATA, NOON, gpx

POINTS = [(61.2, 8.1, "2026-02-14T09:30:00Z"), (61.2001, 8.1001, "2026-02-14T09:30:05Z")]
FIT = (DATA / "sweat" / "2020-06-01-16-52-40.fit").read_bytes()


def _one_fault(data: bytes, name: str = "ines.gpx") -> str:
    recorded, faults = read_track_file(data, name)
    assert not recorded
    assert len(faults) == 1
    line = say(faults[0])
    assert line.startswith(name)
    assert "\n" not in line
    return line


NO_TIMES = "Mojstrovka.gpx"
"""A recording with 1901 for every time, because its device had no time."""


@pytest.mark.parametrize(
    "path", [path for path in sorted(DATA.glob("*/*.gpx")) if path.name != NO_TIMES], ids=lambda p: p.name
)
def test_independent_route_gpxpy_reads_the_same_points(path) -> None:
    theirs = [t for t in gpxpy.parse(path.read_text(encoding="utf-8")).tracks if t.get_points_no()]
    ours = read_gpx(path.read_bytes(), path.name)
    assert [one.name for one in ours] == [t.name or "" for t in theirs]
    for one, track in zip(ours, theirs, strict=True):
        points = [p for s in track.segments for p in s.points]
        place = np.radians([(p.latitude, p.longitude) for p in points])
        np.testing.assert_allclose(one.place, place, atol=1e-15)
        for t, p in zip(one.unix_s, points, strict=True):
            assert (np.isnan(t) and p.time is None) or t == pytest.approx(p.time.timestamp(), abs=1e-5)


def test_contract_a_zone_offset_is_taken_into_account() -> None:
    # 15:43:13 at +01:00 is 14:43:13 UTC.
    recorded = read_gpx((DATA / "gpxpy" / "track-with-less-sec-time.gpx").read_bytes(), "x.gpx")
    assert recorded[0].unix_s[0] == 1_449_844_993.0


@pytest.mark.parametrize("version", ["1/0", "1/1"])
@pytest.mark.parametrize("prefix", ["", "g:"])
def test_contract_any_namespace_prefix_and_both_versions_are_read(version: str, prefix: str) -> None:
    space = f' xmlns{":g" if prefix else ""}="http://www.topografix.com/GPX/{version}"'
    text = (
        f"<{prefix}gpx{space}><{prefix}trk><{prefix}name>Ines</{prefix}name><{prefix}trkseg>"
        f'<{prefix}trkpt lat="61.2" lon="8.1"><{prefix}time>2026-02-14T10:30:00+01:00</{prefix}time></{prefix}trkpt>'
        f"</{prefix}trkseg></{prefix}trk></{prefix}gpx>"
    )
    for data in (text.encode(), b"\xef\xbb\xbf" + text.encode(), text.encode("utf-16")):
        (one,), faults = read_track_file(data, "t.gpx")
        assert (one.name, one.unix_s[0], faults) == ("Ines", 1_771_061_400.0, ())


def test_contract_tracks_and_segments_stay_apart() -> None:
    (a, b) = read_gpx(gpx([("Ines", POINTS), ("Bram", POINTS)]), "run.gpx")
    assert (a.name, b.name) == ("Ines", "Bram")
    segments = b"<gpx><trk>" + 2 * b'<trkseg><trkpt lat="1" lon="2"/></trkseg>' + b"</trk></gpx>"
    assert read_gpx(segments, "s.gpx")[0].segment.tolist() == [0, 1]


def test_contract_what_is_written_is_read_back() -> None:
    t = np.array([1_771_061_400.0, 1_771_061_401.5])
    lat, lon = np.radians([61.2, 61.2001]), np.radians([8.1, 8.1001])
    text = write_gpx([("Ines & Bram", [(t, lat, lon), (t + 60, lat, lon)])])
    (one,) = read_gpx(text.encode(), "out.gpx")
    assert one.name == "Ines & Bram"
    assert one.segment.tolist() == [0, 0, 1, 1]
    np.testing.assert_allclose(one.unix_s[:2], t, atol=1e-3)
    np.testing.assert_allclose(one.place[:2], np.column_stack([lat, lon]), atol=1e-9)


def test_contract_fit_without_positions_is_told() -> None:
    for name in ("6449921903_ACTIVITY.fit", "6471559601_ACTIVITY.fit"):
        assert "contains no position" in _one_fault((DATA / "sweat" / name).read_bytes(), name)


def test_contract_csv_in_each_of_its_forms() -> None:
    earth = b"time,latitude_deg,longitude_deg\n2026-02-14T10:30:00+01:00,61.2,8.1\n2026-02-14T09:30:01Z,61.2,8.1\n"
    (one,) = read_track_csv(earth, "a.csv")
    assert one.unix_s.tolist() == [1_771_061_400.0, 1_771_061_401.0]
    site = b"\xef\xbb\xbft_s;east_m;north_m;track\n0;1;2;Ines\n0;3;4;Bram\n1;1;3;Ines\n"
    ines, bram = read_track_csv(site, "b.csv")
    assert (ines.frame, ines.clock, ines.name, bram.name) == ("site", "own", "Ines", "Bram")
    assert ines.place.tolist() == [[1, 2], [1, 3]]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"<gpx><trk>", "not well-formed"),
        (b"<html></html>", "not GPX"),
        (b"<gpx></gpx>", "no track point"),
        (b'<gpx><rte><rtept lat="1" lon="2"/></rte></gpx>', "only a route"),
        (b'<?xml version="1.0" encoding="no-such"?><gpx/>', "XML"),
        (b"<a>" * 5000, "deep"),
        (b"\x00\x01\x02hello", "XML"),
    ],
)
def test_contract_broken_xml_is_one_clear_line(data: bytes, words: str) -> None:
    assert words in _one_fault(data)


def test_contract_entity_bombs_and_external_entities_are_refused() -> None:
    levels = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 12))
    bomb = f'<!DOCTYPE gpx [<!ENTITY e0 "ha">{levels}]>'
    assert "entities" in _one_fault(gpx([("&e11;", POINTS)], head=bomb))
    outside = '<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    assert "entities" in _one_fault(gpx([("&x;", POINTS)], head=outside))


def test_contract_a_file_above_the_bound_is_refused_by_its_size() -> None:
    assert "larger than 64 MB" in _one_fault(b"<gpx>" + b" " * 64_000_001)


def test_contract_damaged_fit_is_one_clear_line() -> None:
    assert "not a complete FIT file" in _one_fault(FIT[:4000], "a.fit")
    assert "not a complete FIT file" in _one_fault(FIT[:3000] + b"\xff" + FIT[3001:], "a.fit")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"time,lat\n", "latitude_deg and longitude_deg"),
        (b"lat,lon\n1,2\n", "column time"),
        (b"time,lat,lon\n", "no point"),
        (b"time,time,lat,lon\n1,1,2,3\n", "occurs twice"),
        (b"\xff\xfe\xfa", "XML"),
        (b'time,lat,lon\n"2026', "not CSV"),
    ],
)
def test_contract_broken_csv_is_told(data: bytes, words: str) -> None:
    assert words in " ".join(map(say, read_track_file(data, "a.csv")[1]))


def _zip(**files: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name.replace("__", "/"), content)
    return out.getvalue()


def test_contract_a_zip_gives_its_tracks_and_one_line_per_bad_member() -> None:
    data = _zip(
        **{"run__ines.gpx": gpx([("", POINTS)]), "bram.fit": FIT, "bad.gpx": b"<gpx>", "x.zip": b"PK\x03\x04"}
    )
    recorded, faults = read_track_file(data, "run.zip")
    assert [one.file for one in recorded] == ["ines.gpx", "bram.fit"]
    assert [say(fault).split(": ")[1] for fault in faults] == ["bad.gpx", "x.zip"]


def test_contract_a_zip_bomb_stays_within_bounds() -> None:
    bomb = _zip(**{"big.gpx": b"<gpx>" + b" " * 200_000_000})
    assert len(bomb) < 300_000
    tracemalloc.start()
    _, faults = read_track_file(bomb, "run.zip")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "larger than 64 MB" in say(faults[0])
    assert peak < 150_000_000


def test_contract_a_broken_zip_is_one_clear_line() -> None:
    assert "zip" in _one_fault(_zip(a=b"x")[:-10], "run.zip")
    assert "contains no file" in _one_fault(_zip(), "run.zip")


def test_regression_a_member_of_no_name_does_not_break_the_reader() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("a.gpx", "not a track")
        archive.writestr("folder/", "")
    with zipfile.ZipFile(out) as archive:
        archive.infolist()[0].filename = ""
        assert [entry.filename for entry in _entries(archive)] == [""]


@given(data=st.binary(max_size=400), name=st.sampled_from(["a.gpx", "a.fit", "a.csv", "a.zip", "a"]))
@examples(60)
def test_property_random_bytes_never_break_a_reader(data: bytes, name: str) -> None:
    recorded, faults = read_track_file(data, name)
    assert recorded or faults


@given(
    where=st.integers(0, len(FIT) - 1),
    what=st.binary(min_size=1, max_size=6),
    kind=st.sampled_from(["fit", "gpx", "csv", "zip"]),
)
@examples(60)
def test_property_damaged_files_give_tracks_or_faults(where: int, what: bytes, kind: str) -> None:
    good = {
        "fit": FIT,
        "gpx": gpx([("Ines", POINTS * 4)]),
        "csv": b"time,lat,lon,track\n" + b"2026-02-14T09:30:00Z,61.2,8.1,Ines\n" * 8,
        "zip": _zip(**{"ines.gpx": gpx([("", POINTS)])}),
    }[kind]
    i = where % len(good)
    recorded, faults = read_track_file(good[:i] + what + good[i + len(what) :], f"a.{kind}")
    assert recorded or faults


@given(text=st.text(max_size=200))
@examples(40)
def test_property_any_text_below_a_csv_header_is_read_or_refused(text: str) -> None:
    try:
        read_track_csv(("time,lat,lon\n" + text).encode("utf-8", "surrogatepass"), "a.csv")
    except BadInput as error:
        assert error.lines()


def test_contract_fit_bytes_need_no_suffix() -> None:
    assert len(read_track_file(FIT, "download")[0]) == 1
    assert read_fit(FIT, "a.fit")[0].place.shape == (96, 2)


def test_contract_a_track_made_in_the_computer_is_known_by_its_mark() -> None:
    t, angle = np.arange(3.0) + NOON, np.full(3, 1.0)
    for simulated in (False, True):
        text = write_gpx([("Ines", [(t, angle, angle)])], simulated=simulated)
        (read,) = read_gpx(text.encode(), "ines.gpx")
        assert read.simulated is simulated
        assert (read.name, read.unix_s.size) == ("Ines", 3)


def test_contract_elements_where_gpx_has_none_do_no_harm() -> None:
    head = (
        '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>a<time>2026</time>b</name>'
    )
    point = '<trkpt lat="61" lon="8"><time>2026-02-14T09:30:00<b/>Z</time></trkpt>'
    (read,) = read_gpx(f"{head}<trkseg>{point}</trkseg></trk></gpx>".encode(), "odd.gpx")
    assert np.isnan(read.unix_s).all()
    assert read.simulated is False


def test_independent_route_gpxpy_finds_the_implausible_times_too() -> None:
    data = next(DATA.glob(f"*/{NO_TIMES}")).read_bytes()
    (track,) = gpxpy.parse(data.decode()).tracks
    assert {p.time.year for s in track.segments for p in s.points} == {1901}
    _, faults = read_track_file(data, NO_TIMES)
    assert (
        say(faults[0]) == f"{NO_TIMES}: line 12: the time 1901-12-13T20:45:52Z is before 1980 or after 2100"
    )
    assert say(faults[-1]).endswith("more faults of this kind")


HEADER = b"time,lat,lon\n"


def _rows(*times: str) -> bytes:
    return HEADER + b"".join(f"{time},61.2,8.1\n".encode() for time in times)


def test_contract_a_few_nonsense_times_are_left_out_by_line_and_many_refuse_the_track() -> None:
    good = [f"2026-02-14T09:30:{s:02d}Z" for s in range(30)]
    (one,), faults = read_track_file(_rows(*good[:9], "1970-01-01T00:00:00Z", *good[9:]), "a.csv")
    assert not faults
    (note,) = one.notes
    assert say(note) == "line 11: the time 1970-01-01T00:00:00Z is before 1980 or after 2100"
    assert np.flatnonzero(np.isnan(one.unix_s)).tolist() == [9]
    fault = _one_fault(_rows("1900-01-01T00:00:00Z", "2026-02-14T09:30:00Z"), "a.csv")
    assert fault == "a.csv: line 2: the time 1900-01-01T00:00:00Z is before 1980 or after 2100"


@pytest.mark.parametrize("kind", ["csv", "gpx", "t_s"])
def test_contract_a_track_of_more_than_a_day_is_refused_with_both_its_ends(kind: str) -> None:
    times = "2026-02-14T09:30:00Z", "2025-06-14T09:30:00Z", "2026-02-14T09:30:05Z"
    data = {
        "csv": _rows(*times),
        "gpx": gpx([("", [(61.2, 8.1, time) for time in times])]),
        "t_s": b"t_s,east_m,north_m\n0,1,1\n-21168000,1,2\n5,1,3\n",
    }[kind]
    fault = _one_fault(data, f"a.{kind.replace('t_s', 'csv')}")
    assert "more than a day; correct them, or cut the file to the run" in fault
    assert fault.count("line ") == 2


@pytest.mark.parametrize("cell", ["1e308", "-1e308", "1e999", "nan", "9" * 400])
@pytest.mark.parametrize("column", [0, 1, 2])
def test_regression_cells_beyond_every_measure_are_refused_or_left_out(cell: str, column: int) -> None:
    for header in ("t_s,east_m,north_m", "t_s,lat,lon"):
        rows = [[str(t), "1", "2"] for t in range(20)]
        rows[4][column] = cell
        table = "\n".join([header, *map(",".join, rows)]).encode()
        (one,), faults = read_track_file(table, "a.csv")
        assert not faults
        if "east" in header:
            track = clean([one], BOWL)
            assert track.points == 20 - (column > 0)
            assert track.length_m < 1.0
