"""The demo's run and debrief as built with the package, available at once while no model has changed.

`python -m coldfield.app.demo.made` writes them beside this module, for the wheel. If they are missing, or the
models or the drill have changed since, the demo is made again.
"""

from __future__ import annotations

import gzip
import json
import tempfile
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from coldfield.app.debriefs.from_records import provenance
from coldfield.app.demo.demo import write_demo_run
from coldfield.app.demo.run import DemoContent, demo_content
from coldfield.app.drills.files import write_whole
from coldfield.app.jobs.stages import Progress, Stages, not_told
from coldfield.debrief.document import DebriefDocument
from coldfield.files.debrief_json import debrief_value, read_debrief
from coldfield.files.run_csv import read_splits

NAME = "made.json.gz"

WALKING, DEBRIEFING = 100, 200
"""The weights of the two stages. Settings."""


def made_content(folder: Traversable | None = None) -> DemoContent | None:
    """Return the demo as built with the package, or None if there is none from the current models.

    Parameters
    ----------
    folder : path, optional
        Where it was written; by default beside this module.
    """
    kept = (folder or files("coldfield.app.demo")).joinpath(NAME)
    if not kept.is_file():
        return None
    made = json.loads(gzip.decompress(kept.read_bytes()))
    if made["stamp"] != stamp():
        return None
    return DemoContent(
        drill=made["drill"],
        splits=read_splits(made["splits"], "splits.csv").rows,
        tracks=tuple((name, text.encode()) for name, text in made["tracks"].items()),
        debrief=read_debrief(made["debrief"]),
    )


def demo_work(*, folder: str | None = None, progress: Progress) -> DemoContent:
    """Return the demo as built with the package, or make it in a worker process.

    Parameters
    ----------
    folder : str, optional
        The folder for its files, which are written when the demo is kept, not here.
    progress : callable
        Called with the stages 'walking' and 'debriefing'.
    """
    made = made_content()
    if made is not None:
        return made
    with tempfile.TemporaryDirectory(prefix="coldfield-demo-") as passing:
        stages = Stages(progress, {"walking": WALKING, "debriefing": DEBRIEFING})
        stages.at("walking")(0, 1)
        write_demo_run(Path(passing))
        return demo_content(Path(passing), progress=stages.within("debriefing"))


@cache
def demo_debrief() -> DebriefDocument:
    """Return the demo's debrief; if it did not come with the package, making it once takes a few seconds."""
    return demo_work(progress=not_told).debrief


def stamp() -> dict[str, Any]:
    """Return the checksums of everything that the demo is made from, by name."""
    own = files("coldfield.app.demo")
    parts = ("demo.py", "records.py", "run.py", "drill.json")
    sums = {name: sha256(own.joinpath(name).read_bytes()).hexdigest() for name in parts}
    return {**sums, **(provenance().models_sha256 or {})}


def write_made(path: Path) -> None:
    """Make the demo and write it compressed, with the same bytes each time."""
    with tempfile.TemporaryDirectory(prefix="coldfield-demo-") as folder:
        write_demo_run(Path(folder))
        content = demo_content(Path(folder), progress=not_told)
        made = {
            "stamp": stamp(),
            "drill": content.drill,
            "splits": (Path(folder) / "splits.csv").read_text(encoding="utf-8"),
            "tracks": {name: data.decode() for name, data in content.tracks},
            "debrief": debrief_value(content.debrief),
        }
    write_whole(path, gzip.compress(json.dumps(made).encode(), mtime=0))


if __name__ == "__main__":
    write_made(Path(__file__).with_name(NAME))
