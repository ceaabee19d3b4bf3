"""Make the demo's run and its debrief: in a worker process, plain values out."""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict
from pathlib import Path
from typing import Any

from coldfield.app.demo import write_demo_run
from coldfield.app.demo_records import RUN_ID, unheard, write_run
from coldfield.app.drills import load_splits, read_bytes
from coldfield.app.run_debrief import debrief_arguments
from coldfield.app.work import Progress, debrief_work
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.forms import MOST_TRACK_BYTES
from coldfield.records.store import Store

STEPS = 3


def demo_work(*, progress: Progress) -> dict[str, Any]:
    """Make the demo's run and debrief it, in a worker process; see `demo_content`."""
    with tempfile.TemporaryDirectory(prefix="coldfield-demo-") as folder:
        progress(0, STEPS)
        write_demo_run(Path(folder))
        progress(1, STEPS)
        return demo_content(Path(folder), progress=progress)


def demo_content(place: Path, *, progress: Progress) -> dict[str, Any]:
    """Return what the demo's records hold: drill, splits (rows with their ids), tracks and debrief.

    Parameters
    ----------
    place : Path
        The folder with drill.json, splits.csv and tracks.
    progress : callable
        Told the steps done.
    """
    paths = sorted((place / "tracks").glob("*.gpx"))
    content: dict[str, Any] = {
        "drill": json.loads((place / "drill.json").read_text(encoding="utf-8")),
        "splits": [asdict(row) for row in load_splits(place / "splits.csv").rows],
        "tracks": [(path.name, read_bytes(path, most_bytes=MOST_TRACK_BYTES)) for path in paths],
    }
    document = _debriefed(content)
    progress(STEPS, STEPS)
    return {**content, "debrief": document}


def _debriefed(content: dict[str, Any]) -> dict[str, Any]:
    """Debrief the run as any recorded one: out of records, here ones that are thrown away."""
    with tempfile.TemporaryDirectory(prefix="coldfield-demo-") as folder:
        database = open_sqlite(Folder(Path(folder) / "records"))
        try:
            with database.write() as connection:
                write_run(Store(connection, database.stamp()), content)
            arguments = debrief_arguments(database, RUN_ID)
        finally:
            database.close()
    told: dict[str, Any] = debrief_work(**arguments, progress=unheard)["document"]
    return told
