"""Make the demo's run and its debrief, in a worker process."""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass
from pathlib import Path

from coldfield.app.answers import fields_of
from coldfield.app.debriefs.from_records import debrief_arguments
from coldfield.app.debriefs.work import debrief_work
from coldfield.app.demo.records import RUN_ID, DemoRun, write_run
from coldfield.app.drills.files import load_splits, read_bytes
from coldfield.app.jobs.stages import Progress
from coldfield.debrief.document import DebriefDocument
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.kinds.tracks import MOST_TRACK_BYTES
from coldfield.records.store import Store


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoContent(DemoRun):
    """The demo's run and its debrief."""

    debrief: DebriefDocument


def demo_content(place: Path, *, progress: Progress) -> DemoContent:
    """Return the content of the demo's records.

    Parameters
    ----------
    place : Path
        The folder with drill.json, splits.csv and tracks.
    progress : callable
        Called with the progress of the debrief.
    """
    paths = sorted((place / "tracks").glob("*.gpx"))
    run = DemoRun(
        drill=json.loads((place / "drill.json").read_text(encoding="utf-8")),
        splits=load_splits(place / "splits.csv").rows,
        tracks=tuple((path.name, read_bytes(path, most_bytes=MOST_TRACK_BYTES)) for path in paths),
    )
    return DemoContent(**fields_of(run), debrief=_debriefed(run, progress))


def _debriefed(run: DemoRun, progress: Progress) -> DebriefDocument:
    """Debrief the run like any other run on record, from temporary records."""
    with tempfile.TemporaryDirectory(prefix="coldfield-demo-") as folder:
        database = open_sqlite(Folder(Path(folder) / "records"))
        try:
            with database.write() as connection:
                write_run(Store(connection, database.stamp()), run)
            arguments = debrief_arguments(database, RUN_ID)
        finally:
            database.close()
    return debrief_work(**arguments, progress=progress).document
