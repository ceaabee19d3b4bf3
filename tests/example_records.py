"""Invented records for tests: the world of the Hollow Larch Rescue School at Vardholm Bowl."""

from __future__ import annotations

from copy import deepcopy
from functools import cache
from io import BytesIO
from typing import Any

from PIL import Image

from coldfield.records.database import Database
from coldfield.records.kinds import KINDS
from coldfield.records.schema import metadata
from coldfield.records.store import Put, Store

DRILL: dict[str, Any] = {
    "format": "coldfield-drill/1",
    "name": "Two on the lower fan",
    "site": {
        "origin": {"latitude_deg": 61.2, "longitude_deg": 8.1, "elevation_m": 1180},
        "boundary_m": [[0, 0], [60, 0], [60, 80], [0, 80]],
        "entry_m": [30, 0],
    },
    "burials": [
        {
            "id": "A",
            "position_m": [22, 41],
            "depth_m": 0.8,
            "antenna": {"azimuth_deg": 40, "tilt_deg": 10},
            "transmitter": {"field_at_10m_ua_per_m": 1.0},
        },
        {
            "id": "B",
            "position_m": [44, 63],
            "depth_m": 1.1,
            "antenna": {"azimuth_deg": 120, "tilt_deg": 0},
            "transmitter": {"field_at_10m_ua_per_m": 1.0},
        },
    ],
    "searchers": [
        {"id": "s1", "name": "Ines", "receiver": {"coaxial_range_m": 45}},
        {"id": "s2", "name": "Bram", "receiver": {"coaxial_range_m": 40}},
    ],
}

GRID = b"ncols 3\nnrows 3\nxllcenter -100\nyllcenter -100\ncellsize 100\n" + b"1200 1200 1200\n" * 3

GPX = b"""<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="example" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>Ines</name><trkseg>
<trkpt lat="61.2000" lon="8.1005"><time>2026-02-14T09:30:00Z</time></trkpt>
<trkpt lat="61.2002" lon="8.1005"><time>2026-02-14T09:30:20Z</time></trkpt>
</trkseg></trk></gpx>
"""


def drill(**changes: Any) -> dict[str, Any]:
    """Return the example drill file with some keys changed."""
    return {**deepcopy(DRILL), **changes}


def put(database: Database, kind: str, record_id: str, /, based_on: int | None = None, **given: Any) -> Put:
    """Write one record through its form, in its own transaction."""
    fields = KINDS[kind].form(**given).fields()
    with database.write() as connection:
        return Store(connection, database.stamp()).put(kind, record_id, fields, based_on=based_on)


def a_small_season(database: Database) -> None:
    """Write a course with a day, three people, kit, a drill, and one run with splits and an observation."""
    put(database, "people", "ines", name="Ines", contact="ines@hollow-larch.example")
    put(database, "people", "bram", name="Bram")
    put(database, "people", "yuki", name="Yuki", notes="teaches with Bram")
    put(database, "kit", "hl-01", kind="set", label="HL-01", owner_id="ines")
    put(database, "sites", "bowl", name="Vardholm Bowl", document=DRILL["site"])
    put(database, "courses", "feb", name="February course")
    put(database, "days", "feb-14", course_id="feb", date="2026-02-14", site_id="bowl")
    put(database, "participants", "feb-ines", course_id="feb", person_id="ines")
    put(database, "participants", "feb-bram", course_id="feb", person_id="bram")
    put(database, "drills", "fan", document=DRILL, site_id="bowl")
    put(
        database,
        "runs",
        "run-1",
        drill_id="fan",
        day_id="feb-14",
        name="Run 1",
        held_utc="2026-02-14T10:30:00+01:00",
        searchers=[{"searcher": "s1", "person_id": "ines"}, {"searcher": "s2", "person_id": "bram"}],
        as_buried=DRILL["burials"],
    )
    put(database, "splits", "sp-1", run_id="run-1", split="alarm", time_unix_s=1771061400.0)
    put(
        database,
        "splits",
        "sp-2",
        run_id="run-1",
        split="probe_strike",
        searcher="s1",
        burial="A",
        since_alarm_s=260.5,
        note="Ines struck at the second hole",
    )
    put(
        database,
        "observations",
        "ob-1",
        run_id="run-1",
        about="others off transmit",
        seen=False,
        searcher="s2",
    )
    keep_track(database, "tr-1", run_id="run-1", searcher="s1", person_id="ines", file_name="ines.gpx")


def keep_track(database: Database, track_id: str, content: bytes = GPX, **given: Any) -> None:
    """Write a track with its file."""
    from hashlib import sha256

    given |= {"size_bytes": len(content), "sha256": sha256(content).hexdigest()}
    fields = KINDS["tracks"].form(**given).fields()
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.put("tracks", track_id, fields, based_on=None)
        store.keep_file("tracks", track_id, content)


def keep_grid(database: Database, grid_id: str, content: bytes = GRID, **given: Any) -> None:
    """Write an elevation grid with its file."""
    from hashlib import sha256

    given |= {"size_bytes": len(content), "sha256": sha256(content).hexdigest()}
    fields = KINDS["grids"].form(**given).fields()
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.put("grids", grid_id, fields, based_on=None)
        store.keep_file("grids", grid_id, content)


@cache
def picture(width: int = 40, height: int = 30, form: str = "PNG") -> bytes:
    """Return a small picture in the form of the records: only pixels, each column in a different shade."""
    image = Image.linear_gradient("L").rotate(90).resize((width, height))
    out = BytesIO()
    image.save(out, form)
    return out.getvalue()


def keep_picture(database: Database, picture_id: str, content: bytes | None = None, **given: Any) -> None:
    """Write a picture with its file."""
    from hashlib import sha256

    content = picture() if content is None else content
    told = {
        "width_px": 40,
        "height_px": 30,
        "size_bytes": len(content),
        "sha256": sha256(content).hexdigest(),
    }
    fields = KINDS["pictures"].form(**{**told, **given}).fields()
    with database.write() as connection:
        store = Store(connection, database.stamp())
        store.put("pictures", picture_id, fields, based_on=None)
        store.keep_file("pictures", picture_id, content)


def dump(database: Database) -> dict[str, list[Any]]:
    """Return every row of every table, as text, in order."""
    with database.read() as connection:
        return {
            table.name: sorted(tuple(map(repr, row)) for row in connection.execute(table.select()))
            for table in metadata.sorted_tables
        }


def exchange(shell: Database, database: Database) -> None:
    """Let everything made with one database use the records of the other."""
    shell.engine, shell.place, shell.now = database.engine, database.place, database.now
