"""Print the files that run in three walks through Coldfield, not those that are only imported.

    python design/walks.py

Files that only define words or tables, and compiled loops, do not run as Python and are left out.
"""

from __future__ import annotations

import json
import sys
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import coldfield

HOME = Path(coldfield.__file__).parent


def passed(walk: Callable[[], object]) -> list[str]:
    """Return the files of the package whose functions are called during a walk, in order."""
    found: dict[str, None] = {}

    def look(frame: FrameType, event: str, _argument: Any) -> None:
        name = frame.f_code.co_filename
        inside = event == "call" and name.startswith(str(HOME)) and frame.f_code.co_name != "<module>"
        if inside:
            found.setdefault(str(Path(name).relative_to(HOME)))

    walk()  # a first time, since imports and preparations on first use are not part of the walk
    threading.setprofile(look)
    sys.setprofile(look)
    try:
        walk()
    finally:
        sys.setprofile(None)
        threading.setprofile(None)
    return list(found)


def drill_to_hearing_map(_place: Path) -> list[str]:
    """From a drill as JSON to the bytes of its hearing map."""
    from coldfield.app.demo.demo import demo_drill
    from coldfield.app.hearing.map import hearing_map_bytes
    from coldfield.files.drill_json import read_drill, write_drill

    text = write_drill(demo_drill())
    return passed(lambda: hearing_map_bytes(read_drill(text), lines=40))


def track_to_finding(place: Path) -> list[str]:
    """From the files of a run to the findings of its debrief."""
    from coldfield.app.debriefs.from_files import debrief, load_run
    from coldfield.app.demo.demo import write_demo_run

    write_demo_run(place)
    tracks = sorted((place / "tracks").glob("*.gpx"))
    return passed(lambda: debrief(load_run(place / "drill.json", tracks, splits=place / "splits.csv")))


def split_to_export(place: Path) -> list[str]:
    """From a typed split to the file of an export."""
    from coldfield.app.demo.demo import demo_drill
    from coldfield.app.records.data import data_at, writing
    from coldfield.app.records.keeping import export_records
    from coldfield.app.records.reading import save
    from coldfield.files.drill_json import write_drill
    from coldfield.records.kinds import KINDS

    number = iter(range(10))
    with writing(data_at(place / "records"), who="a walk") as database:
        drill = {"document": json.loads(write_drill(demo_drill()))}
        save(database, "drills", "d", KINDS["drills"].form(**drill), based_on=None)
        save(database, "runs", "r", KINDS["runs"].form(drill_id="d", drill_version=1), based_on=None)

        def walk() -> None:
            n = next(number)
            split = KINDS["splits"].form(run_id="r", split="probe_strike", since_alarm_s=300.0 + n)
            save(database, "splits", f"s{n}", split, based_on=None)
            export_records(database, place / f"{n}.zip")

        return passed(walk)


WALKS: dict[str, Callable[[Path], list[str]]] = {
    "drill to hearing map": drill_to_hearing_map,
    "track to finding": track_to_finding,
    "split to export": split_to_export,
}


def main() -> None:
    """Print each walk."""
    for name, walk in WALKS.items():
        with tempfile.TemporaryDirectory() as place:
            files = walk(Path(place))
        print(f"{name}: {len(files)} files")
        for file in files:
            print(f"  {file}")


if __name__ == "__main__":
    main()
