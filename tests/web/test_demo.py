"""The demo is available at once if it came with the package, is made otherwise, and is the same in both cases."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from coldfield.app.demo import made
from coldfield.app.demo.demo import demo_folder
from coldfield.app.demo.fill import are_empty, begin_demo
from coldfield.app.jobs.stages import not_told
from coldfield.records.database import Database
from coldfield.web.app import make_jobs


def test_contract_the_demo_that_came_with_the_package_is_the_one_that_would_be_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made.write_made(tmp_path / made.NAME)
    came = made.made_content(tmp_path)
    assert came is not None
    monkeypatch.setattr(made, "stamp", lambda: {"drill.json": "another"})
    assert made.made_content(tmp_path) is None
    assert made.demo_work(progress=not_told) == came


@pytest.mark.parametrize("with_package", [True, False])
def test_contract_the_demo_fills_its_folder_and_its_records_once(
    database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, with_package: bool
) -> None:
    content = made.demo_work(progress=not_told)
    monkeypatch.setattr("coldfield.app.demo.fill.made_content", lambda: content if with_package else None)
    place = demo_folder(tmp_path / "demo")
    jobs = make_jobs(database)
    try:
        begin_demo(database, jobs, place)
        assert are_empty(database) is not with_package
        for job in jobs.all():
            while job.state in ("waiting", "running"):
                time.sleep(0.1)
        assert not are_empty(database)
        begun = len(jobs.all())
        begin_demo(database, jobs, place)
        assert len(jobs.all()) == begun
    finally:
        jobs.close()
    there = {path.relative_to(place).as_posix() for path in place.rglob("*") if path.is_file()}
    assert {"ABOUT.txt", "drill.json", "splits.csv", "debrief.html", "tracks/ines.gpx"} <= there
