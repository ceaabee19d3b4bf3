"""Files made to be expensive, one list per reader; `python tests/reader_costs.py` prints the cost of each."""

from __future__ import annotations

import json
import struct
import warnings
import zipfile
import zlib
from collections.abc import Callable
from functools import partial
from hashlib import sha256
from io import BytesIO
from typing import Any

import numpy as np
from PIL import Image

from coldfield.files.day_file import line_sum
from coldfield.files.fit import crc_of
from coldfield.files.records_zip import FORMAT
from example_records import DRILL
from fit_files import RECORD, definition, fit_file
from reader_fuzz import season_archive, subjects
from recorded_tracks import NOON, gpx
from wav_files import wav_file

MB = 1_000_000
Build = Callable[[], bytes]


# --- the files ----------------------------------------------------------------------------------------


def _stamps(count: int, step_s: float = 1.0) -> list[str]:
    first = np.datetime64("2026-02-14T08:00:00", "ms")
    times = first + (np.arange(count) * step_s * 1000).astype("timedelta64[ms]")
    return [f"{one}Z" for one in times.astype(str)]


def _points_gpx(count: int, step_s: float = 0.05) -> bytes:
    points = [(61.2 + 1e-7 * k, 8.1, time) for k, time in enumerate(_stamps(count, step_s))]
    return gpx([("Ines", points)])


def _in_gpx(inside: bytes, head: bytes = b"") -> bytes:
    return b'<?xml version="1.0"?>' + head + b"<gpx><trk><trkseg>" + inside + b"</trkseg></trk></gpx>"


def _attributes() -> bytes:
    many = b" ".join(b'a%d="1"' % k for k in range(4_000_000))
    return _in_gpx(b"<trkpt " + many + b"/>")


def _entities() -> bytes:
    levels = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 12))
    return _in_gpx(b"<name>&e11;</name>", f'<!DOCTYPE gpx [<!ENTITY e0 "ha">{levels}]>'.encode())


def _long_fit(count: int) -> bytes:
    one = struct.pack("<Iii", int(NOON) - 631_065_600, 730_144_440, 96_636_764)
    return fit_file(definition(20, *RECORD) + (b"\x00" + one) * count, crc_of)


def _empty_fit() -> bytes:
    # Messages of one byte each: a definition without fields, repeated.
    return fit_file(definition(99) + b"\x00" * 15_900_000, crc_of)


def _redefined_fit() -> bytes:
    return fit_file(definition(20, *RECORD) * (15_900_000 // 15), crc_of)


def _points_csv(count: int, step_s: float = 0.02) -> bytes:
    return ("time,lat,lon\n" + "".join(f"{time},61.2,8.1\n" for time in _stamps(count, step_s))).encode()


def _zip(*members: tuple[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w", method) as archive:
        warnings.simplefilter("ignore")
        for name, content in members:
            archive.writestr(name, content)
    return out.getvalue()


def _twelve_csv() -> bytes:
    table = _points_csv(280_000)
    return _zip(*((f"t{k}.csv", table) for k in range(12)))


def _one_file_many_names() -> bytes:
    """A zip whose directory names the same bytes 180 times."""
    whole = _zip(("a00.gpx", b"<gpx>" + b" " * 60 * MB))
    with zipfile.ZipFile(BytesIO(whole)) as archive:
        start = archive.start_dir
        info = archive.infolist()[0]
    body, directory = whole[:start], whole[start:-22]
    names = 180
    entries = directory * names
    end = struct.pack(
        "<4s4H2LH", b"PK\x05\x06", 0, 0, names, names, len(entries), info.header_offset + len(body), 0
    )
    return body + entries + end


def _nested_zip() -> bytes:
    inner = b"<gpx>" + b" " * 50 * MB
    for _ in range(6):
        inner = _zip(("inner.zip", inner))
    return inner


def _splits(count: int) -> bytes:
    rows = "".join(f"{time},s1,A,probe_strike,second hole\n" for time in _stamps(count, 0.01))
    return ("time,searcher,burial,split,note\n" + rows).encode()


def _drill(**changes: Any) -> bytes:
    return json.dumps({**DRILL, **changes}).encode()


def _corners() -> bytes:
    angle = np.linspace(0, 2 * np.pi, 120_000, endpoint=False)
    ring = np.round(np.column_stack([np.cos(angle), np.sin(angle)]) * 30 + 30, 6).tolist()
    return _drill(site={**DRILL["site"], "boundary_m": ring})


def _combs() -> bytes:
    """Two comb-shaped holes that cross each other at every tooth."""
    teeth = np.arange(620)
    up = np.column_stack([np.repeat(teeth * 0.09, 4), np.tile([58.0, 2.0, 2.0, 58.0], 620)])
    up[2::4, 0] += 0.04
    up[3::4, 0] += 0.04
    comb = np.vstack([[0.0, 59.0], up + np.array([1.0, 0.0]), [59.0, 59.0]]).round(4)
    holes = [comb.tolist(), comb[:, ::-1].tolist()]
    return _drill(
        site={**DRILL["site"], "boundary_m": [[0, 0], [80, 0], [80, 80], [0, 80]], "holes_m": holes}
    )


def _many_holes() -> bytes:
    angle = np.linspace(0, 2 * np.pi, 4000, endpoint=False)
    ring = np.round(np.column_stack([np.cos(angle), np.sin(angle)]) * 20 + 30, 3)
    holes = [(ring + 0.05 * k).round(3).tolist() for k in range(70)]
    return _drill(site={**DRILL["site"], "holes_m": holes})


def _small_holes() -> bytes:
    holes = [[[x, y], [x + 30, y], [x, y + 30]] for x in range(1, 15) for y in range(1, 15)]
    return _drill(site={**DRILL["site"], "holes_m": holes})


def _geojson(count: int) -> bytes:
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    ring = np.round(np.column_stack([8.1 + 1e-3 * np.cos(angle), 61.2 + 1e-3 * np.sin(angle)]), 9).tolist()
    return json.dumps({"type": "Polygon", "coordinates": [[*ring, ring[0]]]}).encode()


def _features() -> bytes:
    one = '{"type":"Feature","geometry":{"type":"Point","coordinates":[8.1,61.2]},"properties":{}}'
    return ('{"type":"FeatureCollection","features":[' + ",".join([one] * 55_000) + "]}").encode()


def _ascii(n: int, words: int, word: bytes = b"0 ") -> bytes:
    head = b"ncols %d\nnrows %d\nxllcorner -60000\nyllcorner -60000\ncellsize 40\n" % (n, n)
    return head + word * words


def _tiff(**changes: Any) -> bytes:
    """A GeoTIFF with a single height, compressed to almost nothing."""
    import rasterio

    profile = {
        "driver": "GTiff",
        "width": 4000,
        "height": 4000,
        "count": 1,
        "dtype": "uint8",
        "crs": "EPSG:32632",
        "transform": rasterio.Affine(5, 0, 440_000, 0, -5, 6_796_000),
        "compress": "deflate",
        "sparse_ok": True,
    } | changes
    with rasterio.MemoryFile() as memory:
        with memory.open(**profile):
            pass
        return bytes(memory.getbuffer())


def _photo(width: int, height: int, form: str) -> bytes:
    """A picture with a different colour in every pixel."""
    out = BytesIO()
    grey = Image.effect_noise((width, height), 40)
    Image.merge("RGB", [grey, grey, grey]).save(out, form)
    return out.getvalue()


def _folded_png(width: int, height: int, rows: int | None = None) -> bytes:
    """A PNG of one colour, compressed to almost nothing; `rows` can exceed the stated height."""

    def part(name: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + name + data + zlib.crc32(name + data).to_bytes(4, "big")

    packer, row = zlib.compressobj(9), bytes(1 + width)
    packed = b"".join(packer.compress(row * 100) for _ in range((rows or height) // 100)) + packer.flush()
    head = width.to_bytes(4, "big") + height.to_bytes(4, "big") + b"\x08\x00\x00\x00\x00"
    return b"\x89PNG\r\n\x1a\n" + part(b"IHDR", head) + part(b"IDAT", packed) + part(b"IEND", b"")


def _signed(files: dict[str, bytes], **told: Any) -> bytes:
    """An archive of records with some members replaced and correct checksums."""
    with zipfile.ZipFile(BytesIO(season_archive())) as archive:
        whole = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(whole.pop("manifest.json")) | told
    whole |= files
    manifest["sha256"] = {name: sha256(content).hexdigest() for name, content in whole.items()}
    return _zip(*whole.items(), ("manifest.json", json.dumps(manifest).encode()))


def _archive_member(name: str, text: Callable[[], bytes]) -> bytes:
    return _signed({name: text()})


def _same_track_often(times: int) -> bytes:
    """Tracks that all refer to one file of a few bytes compressed and 31 MB uncompressed."""
    with zipfile.ZipFile(BytesIO(season_archive())) as archive:
        (one,) = json.loads(archive.read("records/tracks.json"))
    heavy = b"<gpx>" + b" " * 31 * MB
    one |= {"size_bytes": len(heavy), "sha256": sha256(heavy).hexdigest()}
    more = [one, *({**one, "id": f"t{k}"} for k in range(1, times))]
    return _signed({"records/tracks.json": json.dumps(more).encode(), one["file"]: heavy})


def _many_tracks(count: int) -> bytes:
    with zipfile.ZipFile(BytesIO(season_archive())) as archive:
        (one,) = json.loads(archive.read("records/tracks.json"))
    heavy = _points_gpx(250_000)
    one |= {"size_bytes": len(heavy), "sha256": sha256(heavy).hexdigest()}
    names = {f"t{k}": f"tracks/t{k}.gpx" for k in range(count)}
    more = [{**one, "id": name, "file": file} for name, file in names.items()]
    return _signed({"records/tracks.json": json.dumps(more).encode()} | dict.fromkeys(names.values(), heavy))


def _day_lines(text: bytes, most: int = 19_000) -> bytes:
    """A day file with as many of these lines as are read, each with its correct checksum, after the head."""
    head = subjects()["day file"][0][0].split(b"\n", 1)[0] + b"\n"
    line = f"{line_sum(text.decode())} ".encode() + text + b"\n"
    return head + line * min(most, 3_900_000 // len(line))


DEEP = b"[" * 2_400_000 + b"]" * 2_400_000
DIGITS = b"9" * 4_900_000

FILES: dict[str, dict[str, Build]] = {
    "gpx": {
        "a million points": partial(_points_gpx, 640_000),
        "elements that say nothing": lambda: _in_gpx(b"<a/>" * (63 * MB // 4)),
        "elements within each other": lambda: b"<gpx>" + b"<trk>" * (60 * MB // 5),
        "one element with 4 million attributes": _attributes,
        "entities that unfold": _entities,
        "a name of 60 MB": lambda: b"<gpx><trk><name>" + b"x" * 60 * MB + b"</name></trk></gpx>",
        "tracks of one point": lambda: (
            b"<gpx>" + b'<trk><trkseg><trkpt lat="1" lon="2"/></trkseg></trk>' * 900_000 + b"</gpx>"
        ),
    },
    "fit": {
        "a million records": partial(_long_fit, 1_150_000),
        "16 million empty messages": _empty_fit,
        "a million definitions": _redefined_fit,
        "files in a row": lambda: fit_file(b"", crc_of) * (15_900_000 // 16),
    },
    "track csv": {
        "2 million points": partial(_points_csv, 2_000_000),
        "64 MB of commas": lambda: b"time,lat,lon\n" + b"," * 63 * MB,
        "empty lines": lambda: b"time,lat,lon\n" + b"\n" * 63 * MB,
        "an open quote": lambda: b'time,lat,lon\n"' + b"1,2,3\n" * 10_000_000,
        "a header of 20 million columns": lambda: b"time,lat,lon," + b"a," * 30_000_000,
        "a track a row": lambda: (
            b"t_s,east_m,north_m,track\n" + b"".join(b"1,2,3,%d\n" % k for k in range(4_000_000))
        ),
        "cells of 1e308": lambda: b"t_s,east_m,north_m\n" + b"1e308,-1e308,1e308\n" * 3_000_000,
        "eight months at points a day apart": lambda: _points_csv(240, 86_000.0),
    },
    "zip of tracks": {
        "twelve heavy CSVs": _twelve_csv,
        "one file under 180 names": _one_file_many_names,
        "zip within zip": _nested_zip,
        "a name given 190 times": lambda: _zip(*(("a.gpx", _points_gpx(20_000)) for _ in range(190))),
        "a directory of 60,000": lambda: _zip(*((f"{k}.gpx", b"") for k in range(60_000))),
        "LZMA": lambda: _zip(("a.gpx", b"<gpx>" + b" " * 90 * MB), method=zipfile.ZIP_LZMA),
    },
    "splits": {
        "5 MB of rows": partial(_splits, 90_000),
        "an open quote": lambda: b'time,split\n"' + b"1,2\n" * 1_200_000,
        "empty lines": lambda: b"time,split\n" + b"\n" * 4_900_000,
    },
    "drill": {
        "brackets": lambda: DEEP,
        "empty lists": lambda: b"[" + b"[]," * 1_600_000 + b"0]",
        "keys": lambda: b"{" + b",".join(b'"k%d":0' % k for k in range(400_000)) + b"}",
        "a number of 5 million digits": lambda: b'{"format":' + DIGITS + b"}",
        "120,000 corners": _corners,
        "two holes like combs across each other": _combs,
        "70 holes of 4,000 corners": _many_holes,
        "196 holes that overlap": _small_holes,
        "letters in six": lambda: b'{"name":"' + b"\\u00e9" * 800_000 + b'"}',
    },
    "boundary geojson": {
        "120,000 corners": partial(_geojson, 120_000),
        "4,999 corners": partial(_geojson, 4_999),
        "55,000 points": _features,
        "collections within each other": lambda: (
            b'{"type":"GeometryCollection","geometries":[' * 100_000 + b"]}" * 100_000
        ),
    },
    "boundary gpx": {
        "points": partial(_points_gpx, 45_000),
        "elements that say nothing": lambda: _in_gpx(b"<a/>" * 1_200_000),
        "waypoints": lambda: (
            b"<gpx>" + b'<wpt lat="61.2" lon="8.1"><name>cairn</name></wpt>' * 90_000 + b"</gpx>"
        ),
    },
    "ascii grid": {
        "74 million words": lambda: _ascii(4000, 74_000_000),
        "16 million cells": lambda: _ascii(4000, 16_000_000, b"1180 "),
        "a file of no words": lambda: _ascii(4000, 1, b" " * 149 * MB),
        "words of 99 letters": lambda: _ascii(1200, 1_440_000, b"1" + b"0" * 98 + b" "),
        "a header of 149 MB": lambda: b"ncols " + b"3" * 149 * MB,
    },
    "geotiff": {
        "16 million cells of nothing": _tiff,
        "one tile of 16 million": lambda: _tiff(tiled=True, blockxsize=4000, blockysize=4000),
        "one tile of 400 million": lambda: _tiff(tiled=True, blockxsize=20_000, blockysize=20_000),
        "16 million cells by LZW": lambda: _tiff(compress="lzw", dtype="float32", predictor=3),
        "turned on its side": lambda: _tiff(width=16_000_000, height=3),
    },
    "picture": {
        "16 million pixels of JPEG": lambda: _photo(4000, 4000, "JPEG"),
        "16 million pixels of PNG": lambda: _photo(4000, 4000, "PNG"),
        "a PNG that says it is 3 GB": lambda: _folded_png(30_000, 100_000, rows=2000),
        "a PNG that says it is small": lambda: _folded_png(4000, 4000, rows=40_000),
        "a JPEG of a thousand scans": lambda: b"\xff\xd8\xff" + b"\xff\xda\x00\x02" * 1000,
        "a GeoTIFF of four bands": lambda: _tiff(count=4, photometric="RGB"),
        "one tile of 400 million": lambda: _tiff(tiled=True, blockxsize=20_000, blockysize=20_000),
    },
    "wav": {
        "64 MB of samples": lambda: wav_file(1, 16, 2, samples=16 * MB - 100),
        "chunks of nothing": lambda: b"RIFF" + b"\xff" * 4 + b"WAVE" + b"none\x00\x00\x00\x00" * 8 * MB,
        "eight channels of 8 bits": lambda: wav_file(1, 8, 8, samples=8 * MB - 100),
    },
    "archive": {
        "one member 25 times": partial(_same_track_often, 25),
        "6 tracks of 250,000 points": partial(_many_tracks, 6),
        "a list of 90 MB": lambda: _archive_member(
            "records/runs.json", lambda: b"[" + b"0," * 45 * MB + b"0]"
        ),
        "an entry of 90 MB": lambda: _archive_member(
            "records/people.json", lambda: b'[{"id":"' + b"x" * 90 * MB + b'"}]'
        ),
        "a list of lists": lambda: _archive_member(
            "records/people.json", lambda: b"[" + b"[[]]," * 9_000_000 + b"0]"
        ),
        "brackets": lambda: _archive_member("records/drills.json", lambda: b"[" * 50_000_000),
        "spaces": lambda: _archive_member("records/days.json", lambda: b" " * 400 * MB),
        "a manifest of 60 MB": lambda: _signed({}, more="x" * 60 * MB),
        "a manifest of lists": lambda: _signed({}, more=[[]] * 1_900_000),
        "100,000 members": lambda: _signed({f"tracks/{k}.gpx": b"" for k in range(100_000)}),
        "another archive": lambda: _zip(("manifest.json", json.dumps({"format": FORMAT}).encode())),
    },
    "day file": {
        "empty objects": lambda: _day_lines(b"{}"),
        "one number": lambda: _day_lines(b'{"line":' + b"9" * 3_800_000 + b"}"),
        "lists": lambda: _day_lines(b'{"line":[' + b"[]," * 1_200_000 + b"0]}"),
        "empty lines": lambda: _day_lines(b"{}", 1) + b"\n" * 3_800_000,
    },
}
