"""Print a table of how long a person waits for each route that takes a heavy file; the goal is 5 s.

``python bench/route_files.py [WORDS]`` sends the files to a service in this process; WORDS selects routes. A
file that is not read within a few seconds becomes a job (202), whose time is in a separate column.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fastapi.testclient import TestClient

import heavy_files
from coldfield.app.ground import on_record as site_ground
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app, make_jobs
from example_records import DRILL, a_small_season

GOAL_S = 5.0
POINTS = 199_000
"""Just below the limit of one recording."""

Sent = tuple[str, str, str, Callable[[], bytes]]


def files() -> Iterator[Sent]:
    """Yield method, address, name and content of each file."""
    heavy = heavy_files.FILES
    ok = {
        "a.gpx": lambda: heavy_files._points_gpx(POINTS),
        "a.fit": lambda: heavy_files._long_fit(POINTS),
        "a.csv": lambda: heavy_files._points_csv(POINTS, 0.05),
        "a.zip": lambda: heavy_files._zip(*((f"{k}.gpx", _own(k)) for k in range(12))),
    }
    for name, make in ok.items():
        yield "POST", f"/api/runs/r/tracks?file_name={name}", f"{POINTS} points, {name[2:]}", make
    for kind, ending in (("gpx", "gpx"), ("fit", "fit"), ("track csv", "csv"), ("zip of tracks", "zip")):
        for name, make in heavy[kind].items():
            yield "POST", f"/api/runs/r/tracks?file_name=a.{ending}", name, make
    yield "PUT", "/api/runs/r/tracks/t-own?file_name=a.gpx", f"{POINTS} points", ok["a.gpx"]
    for name, make in {**heavy["ascii grid"], **heavy["geotiff"]}.items():
        yield "PUT", "/api/drills/fan/grids/g{k}?file_name=a.tif&crs=EPSG:32632", name, make
    for kind, address in (("boundary geojson", "/api/boundary?file_name=a.geojson"),
                          ("boundary gpx", "/api/boundary?file_name=a.gpx"),
                          ("drill", "/api/drill-file?file_name=a.json"),
                          ("splits", "/api/runs/r/splits/read"), ("splits", "/api/runs/r/splits/keep"),
                          ("day file", "/api/day-file?file_name=day.txt&drill=fan")):  # fmt: skip
        for name, make in heavy[kind].items():
            yield "POST", address, name, make
    for name, make in heavy["archive"].items():
        yield "POST", "/api/import?file_name=a.zip&dry_run=true", name, make
    yield (
        "POST",
        "/api/import?file_name=a.zip",
        "40 tracks of 250,000 points",
        lambda: heavy_files._many_tracks(40),
    )


def _own(k: int) -> bytes:
    return heavy_files._points_gpx(POINTS // 12).replace(b"61.2", b"61.2%d" % (k % 10))


def waited(client: TestClient, sent: Sent) -> tuple[float, float, str]:
    """Send one file; return the time of the answer, the time of its job, and the result."""
    method, address, _, make = sent
    content = make()
    began = perf_counter()
    answer = client.request(
        method, address, content=content, headers={"content-type": "application/octet-stream"}
    )
    took_s = perf_counter() - began
    told = answer.json()
    if answer.status_code != 202:
        return took_s, 0.0, f"{answer.status_code} {next(iter(told.get('faults') or ()), '')[:60]}"
    with client.stream("GET", f"/api/jobs/{told['id']}/events") as events:
        for _ in events.iter_lines():
            pass
    job = client.get(f"/api/jobs/{told['id']}").json()
    return took_s, perf_counter() - began, f"202 {job['state']} {next(iter(job['faults']), '')[:60]}"


def lists(client: TestClient) -> Iterator[tuple[float, str]]:
    """Yield how long each list of the tracks of each run takes until all are read."""
    for run in client.get("/api/runs").json()["items"]:
        while True:
            began = perf_counter()
            tracks = client.get(f"/api/runs/{run['id']}/tracks").json()
            left = sum(not one["measured"] for one in tracks)
            yield perf_counter() - began, f"{len(tracks)} tracks, {left} left"
            if not left:
                break


def main() -> int:
    """Print the table; return 1 if a wait is longer than the goal."""
    words = sys.argv[1] if len(sys.argv) > 1 else ""
    most = 0.0
    with tempfile.TemporaryDirectory(prefix="coldfield-bench-") as place:
        database = open_sqlite(Folder(Path(place)))
        jobs = make_jobs(database)
        client = TestClient(create_app(database, jobs=jobs), base_url="http://127.0.0.1:8457")
        a_small_season(database)
        client.put("/api/drills/fan2", json={"document": DRILL})
        client.put("/api/runs/r", json={"drill_id": "fan2", "held_utc": "2026-02-14T08:00:00Z"})
        for k, (method, address, name, make) in enumerate(files()):
            if words not in address:
                continue
            took_s, job_s, told = waited(client, (method, address.format(k=k), name, make))
            most = max(most, took_s)
            of_job = f"job {job_s:5.1f} s" if job_s else " " * 11
            print(
                f"{took_s:5.1f} s {of_job}  {method:4} {address.partition('?')[0]:27} {name[:38]:38} {told}",
                flush=True,
            )
        for took_s, told in lists(client):
            most = max(most, took_s)
            print(f"{took_s:5.1f} s              GET  /api/runs/{{run}}/tracks         {told}", flush=True)
        for grid in client.get("/api/grids").json()["items"]:
            site_ground._READ.clear()
            began = perf_counter()
            answer = client.post(
                f"/api/grids/{grid['id']}/ground", json={"drill": json.loads(json.dumps(DRILL))}
            )
            took_s = perf_counter() - began
            most = max(most, took_s)
            told = f"{grid['file_name']} {answer.status_code}"
            print(f"{took_s:5.1f} s              POST /api/grids/{{grid}}/ground      {told}", flush=True)
        jobs.close()
        database.close()
    print(f"longest wait {most:.1f} s, goal {GOAL_S:.0f} s: ratio {most / GOAL_S:.2f}")
    return int(most > GOAL_S)


if __name__ == "__main__":
    sys.exit(main())
