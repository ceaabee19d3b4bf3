"""Damage files at random and read them: every reader returns a result or a clear fault.

``python tests/reader_fuzz.py --mutants 10000 [--reader fit]`` prints, for each reader, how many mutants were
read, how many refused, and the first of each unexpected error. Checksums are corrected, so that the damage
reaches the code behind them.
"""

from __future__ import annotations

import argparse
import io
import json
import random
import sys
import tempfile
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pathlib import Path

import numpy as np

from coldfield.app.answers import plain
from coldfield.app.debriefs.track_measures import measure
from coldfield.app.drills.new import site_from
from coldfield.app.ground.grid import lay_grid
from coldfield.app.records.keeping import export_records, import_records
from coldfield.errors import BadInput, ColdfieldError
from coldfield.files.bare_picture import bare_size
from coldfield.files.csv_text import csv_text
from coldfield.files.day_file import line_sum, read_day_file, write_day_file
from coldfield.files.day_model import HeadLine, ItemLine, NoteItem, PhoneLine, SplitItem
from coldfield.files.drill_json import read_drill
from coldfield.files.elevation import read_elevation
from coldfield.files.fit import crc_of
from coldfield.files.json_text import decode_text
from coldfield.files.picture_file import read_picture
from coldfield.files.run_csv import read_splits, write_splits
from coldfield.files.wav import read_wav
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from example_records import DRILL, a_small_season, keep_grid, picture
from fit_files import RECORD, definition, fit_file, resigned
from recorded_tracks import DATA, NOON, gpx
from wav_files import WAV_FORMS, wav_file

Reader = Callable[[bytes], object]

INTERESTING = (
    *(b"0", b"-1", b"1e308", b"-1e999", b"nan", b"inf", b"null", b"[]", b"{}", b'""', b"9" * 400, b"\x00"),
    *(
        b"\xff\xff\xff\xff",
        b"\x7f\xff\xff\xff",
        b"\x80",
        b'"',
        b",",
        b"\r",
        b"\n",
        b"<",
        b">",
        b"&",
        b"\\ud800",
    ),
    *(b"1900-01-01T00:00:00Z", b"9999-12-31T23:59:59-14:00", b"0001-01-01T00:00:00+14:00", b"true", b"[[[["),
    *(b"=1+1", b"\xed\xa0\x80", b"\xef\xbb\xbf", b"\x00\x00\xf8\x7f", b"1_0", "\u0665".encode(), b"-"),
)


def mutated(data: bytes, rng: random.Random) -> bytes:
    """Return a file with one to six pieces changed: bits, bytes, words, numbers, parts lost or doubled."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        at, size = rng.randrange(len(out) + 1), rng.choice((1, 1, 2, 4, 8, 40))
        kind = rng.randrange(7)
        if kind == 0 and at < len(out):
            out[at] ^= 1 << rng.randrange(8)
        elif kind == 1:
            out[at : at + size] = rng.randbytes(size)
        elif kind == 2:
            out[at : at + rng.randrange(12)] = rng.choice(INTERESTING)
        elif kind == 3:
            del out[at : at + size]
        elif kind == 4:
            other = rng.randrange(len(out) + 1)
            out[at:at] = out[other : other + size * 3]
        elif kind == 5:
            _number_changed(out, rng)
        elif rng.random() < 0.2:
            del out[at:]
    return bytes(out)


def _number_changed(out: bytearray, rng: random.Random) -> None:
    at = [i for i in rng.choices(range(len(out)), k=20) if 48 <= out[i] < 58] if out else []
    if at:
        first = last = at[0]
        while first and 46 <= out[first - 1] < 58:
            first -= 1
        while last < len(out) and 46 <= out[last] < 58:
            last += 1
        out[first:last] = rng.choice(INTERESTING)


# --- files, and how each is read ---------------------------------------------------------------------


def _gpx() -> bytes:
    points = [(61.2 + 1e-5 * k, 8.1, f"2026-02-14T09:30:{k:02d}Z") for k in range(30)]
    return gpx([("Ines", points), ("Bram", points[:5])])


def _track_csv() -> bytes:
    rows = [(f"2026-02-14T09:30:{k:02d}Z", f"{61.2 + 1e-5 * k:.6f}", "8.1", "Ines", "0") for k in range(20)]
    return csv_text([("time", "lat", "lon", "track", "segment"), *rows]).encode()


def _site_csv() -> bytes:
    return csv_text([("t_s", "east_m", "north_m"), *((k, 30, 2 * k) for k in range(20))]).encode()


def _fit() -> bytes:
    import struct

    def angle(degrees: float) -> int:
        return round(degrees / 180 * 2**31)

    body = definition(20, *RECORD)
    for k in range(20):
        stamp = int(NOON) - 631_065_600 + k
        body += b"\x00" + struct.pack("<Iii", stamp, angle(61.2 + 1e-5 * k), angle(8.1))
    return fit_file(body)


def _zip() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("run/ines.gpx", _gpx())
        archive.writestr("bram.csv", _track_csv())
    return out.getvalue()


SPLITS = (
    b"time,searcher,burial,split,note\n2026-02-14T09:30:00Z,,,alarm,\n2026-02-14T09:34:00Z,s1,A,probe_strike,"
    b"second hole\n2026-02-14T09:36:00Z,s1,,observation,leader named\n"
)


def _geojson() -> bytes:
    ring = [[8.1, 61.2], [8.101, 61.2], [8.101, 61.201], [8.1, 61.201], [8.1, 61.2]]
    ground = {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    place = {"type": "Point", "coordinates": ring[0]}
    named = {"type": "Feature", "properties": {"name": "cairn"}, "geometry": place}
    return json.dumps({"type": "FeatureCollection", "features": [ground, named]}).encode()


def _ring_gpx() -> bytes:
    ring = [(8.1, 61.2), (8.101, 61.2), (8.101, 61.201), (8.1, 61.201)]
    place = b'<wpt lat="61.2" lon="8.1"><name>cairn</name></wpt><trk>'
    return gpx([("", [(lat, lon, None) for lon, lat in ring])]).replace(b"<trk>", place, 1)


def _ascii() -> bytes:
    rows = "\n".join(" ".join(f"{1180 + y * 0.5:.1f}" for _ in range(40)) for y in range(40))
    head = "ncols 40\nnrows 40\nxllcorner -60\nyllcorner -60\ncellsize 5\nNODATA_value -9999\n"
    return (head + rows + "\n").encode()


def geotiff(**changes: object) -> bytes:
    """Return a GeoTIFF that covers the example's site: 24 by 24 cells of 15 m in UTM 32."""
    import rasterio

    from coldfield.drill.utm import utm

    x, y = utm(np.radians(61.2), np.radians(8.1), zone=32, south=False)
    height = np.add.outer(np.arange(24.0), np.zeros(24)) + 1180
    profile = {
        "driver": "GTiff",
        "width": 24,
        "height": 24,
        "count": 1,
        "dtype": "float32",
        "crs": "EPSG:32632",
        "transform": rasterio.Affine(15, 0, float(x) - 140, 0, -15, float(y) + 220),
        "nodata": -9999,
    } | changes
    if profile["dtype"] == "uint8":
        profile["nodata"], height = None, height - 1180
    with rasterio.MemoryFile() as memory:
        with memory.open(**profile) as dataset:
            dataset.write(height.astype(profile["dtype"]), 1)
        return bytes(memory.getbuffer())


@cache
def _drill():
    return read_drill(json.dumps(DRILL))


def _track(name: str) -> Reader:
    def read(data: bytes) -> object:
        found = measure(data, name, _drill())
        json.dumps(plain(found), allow_nan=False)
        if found.faults:
            raise BadInput(found.faults)
        return found

    return read


def _read_ground(crs: str | None) -> Reader:
    def read(data: bytes) -> object:
        file = read_elevation(data, "a.tif")
        return lay_grid(file, _drill().site, crs=crs or file.crs, source="a.tif").slope_rad()

    return read


def _read_picture(data: bytes) -> object:
    file = read_picture(data, "a.png")
    # The re-encoded picture is valid for an archive and contains nothing else.
    assert bare_size(file.content) == (file.width_px, file.height_px)
    return file


def _read_splits(data: bytes) -> object:
    splits = read_splits(decode_text(data, "splits"))
    return read_splits(write_splits(splits)) if splits.rows else splits


@cache
def season_archive() -> bytes:
    with tempfile.TemporaryDirectory() as place:
        database = open_sqlite(Folder(Path(place) / "data"))
        a_small_season(database)
        keep_grid(database, "grid-1", drill_id="fan", file_name="bowl.asc", crs="site")
        export_records(database, Path(place) / "all.zip")
        database.close()
        return (Path(place) / "all.zip").read_bytes()


def mutated_archive(data: bytes, rng: random.Random) -> bytes:
    """Return an archive with changed members, compressed again with correct checksums; rarely, change the zip's bytes."""
    if rng.random() < 0.1:
        return mutated(data, rng)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(files.pop("manifest.json"))
    for _ in range(rng.choice((1, 1, 2))):
        name = rng.choice([*files, *(name for name in files if name.startswith("records/"))])
        files[name] = mutated(files[name], rng)
    manifest["sha256"] = {name: sha256(content).hexdigest() for name, content in files.items()}
    told = json.dumps(manifest).encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
        archive.writestr("manifest.json", mutated(told, rng) if rng.random() < 0.05 else told)
    return out.getvalue()


def _day() -> bytes:
    stamp = {"phone": "p1", "of": "run-1", "page": "g1", "since_page_ms": 5000.5}
    items: list[ItemLine] = []
    for n in range(1, 9):
        born = {**stamp, "id": f"i{n}", "n": n, "wall_ms": 1_771_061_400_000 + 1000 * n}
        said = {"split": "first_signal", "burial": "A"} if n % 2 else {"words": "wind"}
        items.append((SplitItem if n % 2 else NoteItem).model_validate(born | said))
    head = HeadLine(made_by="a test", made_ms=1_771_063_200_000)
    return write_day_file(head=head, phones=[PhoneLine(id="p1", name="Larch", keeper="Ines")], items=items)


def mutated_day(data: bytes, rng: random.Random) -> bytes:
    """Return a day file with one changed line, usually with a corrected checksum."""
    if rng.random() < 0.2:
        return mutated(data, rng)
    lines = data.decode().splitlines()
    number = rng.randrange(len(lines))
    text = mutated(lines[number].partition(" ")[2].encode(), rng).decode("utf-8", "replace")
    lines[number] = f"{line_sum(text)} {text}"
    return "\n".join([*lines, ""]).encode()


def _read_day(data: bytes) -> object:
    file = read_day_file(data)
    if file.faults:
        raise BadInput(file.faults)
    written = write_day_file(head=file.head, phones=file.phones, runs=file.runs, items=file.items)
    return read_day_file(written)


class _Archives:
    """Imports each archive into empty records, and exports the result."""

    def __init__(self) -> None:
        self.place = Path(tempfile.mkdtemp(prefix="coldfield-fuzz-"))
        database = open_sqlite(Folder(self.place / "empty"))
        database.close()
        self.empty = (self.place / "empty" / "coldfield.db").read_bytes()

    def __call__(self, data: bytes) -> object:
        with tempfile.TemporaryDirectory(dir=self.place) as name:
            place = Path(name)
            (place / "data").mkdir()
            (place / "data" / "coldfield.db").write_bytes(self.empty)
            (place / "in.zip").write_bytes(data)
            database = open_sqlite(Folder(place / "data"), check=False)
            try:
                import_records(database, place / "in.zip")
                return export_records(database, place / "out.zip")
            finally:
                database.close()


def _signed_fit(data: bytes, rng: random.Random) -> bytes:
    out = mutated(data, rng)
    return resigned(out, crc_of) if rng.random() < 0.9 else out


def subjects() -> dict[str, tuple[list[bytes], Callable[[bytes, random.Random], bytes], Reader]]:
    """Return, by reader: whole files, how they are damaged, and how they are read."""
    watch = (DATA / "sweat" / "2020-06-01-16-52-40.fit").read_bytes()
    return {
        "gpx": ([_gpx()], mutated, _track("a.gpx")),
        "fit": ([_fit(), watch], _signed_fit, _track("a.fit")),
        "track csv": ([_track_csv(), _site_csv()], mutated, _track("a.csv")),
        "zip of tracks": ([_zip()], mutated, _track("a.zip")),
        "splits": ([SPLITS], mutated, _read_splits),
        "drill": ([json.dumps(DRILL).encode()], mutated, lambda data: read_drill(decode_text(data, "a"))),
        "boundary geojson": ([_geojson()], mutated, lambda data: site_from(data, "a.geojson", near=None)),
        "boundary gpx": ([_ring_gpx()], mutated, lambda data: site_from(data, "a.gpx", near=None)),
        "ascii grid": ([_ascii()], mutated, _read_ground("site")),
        "geotiff": (
            [geotiff(), geotiff(compress="deflate", tiled=True, blockxsize=16, blockysize=16)],
            mutated,
            _read_ground(None),
        ),
        "picture": (
            [picture(), picture(form="JPEG"), geotiff(dtype="uint8", compress="deflate")],
            mutated,
            _read_picture,
        ),
        "wav": ([wav_file(*form) for form in WAV_FORMS], mutated, lambda data: read_wav(data, "a.wav")),
        "day file": ([_day()], mutated_day, _read_day),
        "archive": ([season_archive()], mutated_archive, _Archives()),
    }


def fuzz(name: str, mutants: int, seed: int = 1) -> tuple[Counter[str], dict[str, bytes]]:
    """Return how many mutants were read, were refused or broke a reader, and the first file of each break."""
    files, damage, read = subjects()[name]
    rng = random.Random(f"{name} {seed}")
    counts: Counter[str] = Counter()
    broke: dict[str, bytes] = {}
    for number in range(mutants):
        data = damage(files[number % len(files)], rng)
        try:
            read(data)
            counts["read"] += 1
        except ColdfieldError as error:
            assert str(error).strip(), "a refusal without words"
            counts["refused"] += 1
        except Exception as error:
            counts["broke"] += 1
            place = error.__traceback__
            while place and place.tb_next:
                place = place.tb_next
            where = f"{Path(place.tb_frame.f_code.co_filename).name}:{place.tb_lineno}" if place else ""
            broke.setdefault(f"{type(error).__name__} at {where}: {str(error)[:80]}", data)
    return counts, broke


def main() -> int:
    """Fuzz from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mutants", type=int, default=10_000)
    parser.add_argument("--reader")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    warnings.simplefilter("error")
    failed = 0
    for name in [asked.reader] if asked.reader else list(subjects()):
        counts, broke = fuzz(name, asked.mutants, asked.seed)
        print(f"{name:18} {dict(counts)}", flush=True)
        for words in broke:
            print(f"    {words}")
        failed += len(broke)
    return min(failed, 1)


if __name__ == "__main__":
    sys.exit(main())
