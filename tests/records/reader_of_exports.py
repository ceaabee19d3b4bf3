"""Read an export with only the standard library, following docs/export_format.md.

It is independent of the program that wrote it, and prints its result as JSON.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import sys
import xml.etree.ElementTree as ET
import zipfile
from typing import Any


def understand(path: str) -> dict[str, Any]:
    with zipfile.ZipFile(path) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        assert manifest["format"] == "coldfield-records/1"
        for name, digest in manifest["sha256"].items():
            assert hashlib.sha256(archive.read(name)).hexdigest() == digest, name
        records = {
            kind: [r for r in json.loads(archive.read(f"records/{kind}.json")) if r["deletion_id"] is None]
            for kind in manifest["counts"]
        }
        people = {person["id"]: person["name"] for person in records["people"]}
        drills = {drill["id"]: drill for drill in records["drills"]}
        runs = [
            {
                "name": run["name"],
                "held_utc": run["held_utc"],
                "drill": drill_name(archive, drills[run["drill_id"]], run["drill_version"]),
                "who": {one["searcher"]: people[one["person_id"]] for one in run["searchers"]},
                "splits": splits(archive, run["id"]),
                "tracks": {
                    track["file_name"]: points(archive, track["file"])
                    for track in records["tracks"]
                    if track["run_id"] == run["id"]
                },
            }
            for run in records["runs"]
        ]
    return {"people": sorted(people.values()), "runs": runs}


def drill_name(archive: zipfile.ZipFile, drill: dict[str, Any], number: int) -> str:
    (file,) = (version["file"] for version in drill["versions"] if version["number"] == number)
    return str(json.loads(archive.read(file))["name"])


def splits(archive: zipfile.ZipFile, run_id: str) -> list[list[str]]:
    text = archive.read(f"runs/{run_id}/splits.csv").decode()
    return [[row["time"], row["split"], row["burial"]] for row in csv.DictReader(io.StringIO(text))]


def points(archive: zipfile.ZipFile, file: str) -> int | None:
    if not file.endswith(".gpx"):
        return None
    root = ET.fromstring(archive.read(file))
    return len(root.findall(".//{http://www.topografix.com/GPX/1/1}trkpt"))


if __name__ == "__main__":
    print(json.dumps(understand(sys.argv[1])))
