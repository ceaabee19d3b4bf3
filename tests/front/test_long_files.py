"""A file whose reading became a job: the page shows its bar, and cancelling it changes nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from accessibility import axe
from drill_records import new_drill
from example_records import GRID
from visiting import LAPTOP, PHONE, Visiting

BROUGHT = {"new": {"drills": 1}, "here": {}, "drills": [], "runs": []}
LOOKS: list[dict[str, Any]] = [
    {"viewport": LAPTOP},
    {"viewport": PHONE, "has_touch": True, "color_scheme": "dark"},
]


def told(work: str, **more: Any) -> dict[str, Any]:
    stand = {"stage": "reading", "stage_done": 43, "stage_total": 100, "waits_for": None, "revision": 2}
    return {
        "id": "j",
        "work": work,
        "state": "running",
        "done": 43,
        "total": 100,
        "faults": [],
        **stand,
        **more,
    }


def becoming_a_job(visit: Visiting, address: str, job: dict[str, Any], **options: Any) -> Any:
    """Visit a service that turns uploads into a job; `job` is its state at each request."""
    visited = visit(**options)
    visited.context.route(address, lambda route: route.fulfill(status=202, json=job))
    visited.context.route("**/api/jobs/j", lambda route: route.fulfill(json=job))

    def cancel(route: Route) -> None:
        job.update(state="cancelled")
        route.fulfill(json=job)

    visited.context.route("**/api/jobs/j/cancel", cancel)
    return visited


def shown(page: Page) -> None:
    expect(page.get_by_role("progressbar")).to_have_js_property("position", 0.43)
    assert axe(page) == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


@pytest.mark.parametrize("options", LOOKS)
def test_contract_an_archive_shows_its_bar_and_is_cancelled(
    visit: Visiting, tmp_path: Path, options: dict[str, Any]
) -> None:
    job = told("import")
    page = becoming_a_job(visit, "**/api/import?*", job, **options).open("/drills?share=")
    (tmp_path / "all.zip").write_bytes(b"PK")
    page.get_by_label("Zip file").set_input_files(tmp_path / "all.zip")
    shown(page)
    page.get_by_role("button", name="Cancel").click()
    expect(page.get_by_text("Cancelled. Nothing was changed.")).to_be_visible()
    job.update(state="done", result=BROUGHT)
    page.get_by_label("Zip file").set_input_files(tmp_path / "all.zip")
    expect(page.get_by_text("and not here yet")).to_be_visible()
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_text("Brought in from").first).to_be_visible()
    job.update(state="failed", faults=["all.zip: is no archive"], result=None)
    page.get_by_label("Zip file").set_input_files(tmp_path / "all.zip")
    expect(page.get_by_text("is no archive")).to_be_visible()


@pytest.mark.parametrize("options", LOOKS)
def test_contract_a_track_shows_its_bar_and_is_stopped(visit: Visiting, options: dict[str, Any]) -> None:
    job = told("tracks")
    visited = becoming_a_job(visit, "**/api/runs/*/tracks?file_name=*", job, **options)
    page = visited.open("/runs/demo-run?step=tracks")
    page.locator("main input[type=file]").first.set_input_files(
        {"name": "ines.gpx", "mimeType": "application/gpx+xml", "buffer": b"<gpx/>"}
    )
    shown(page)
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_text("stopped")).to_be_visible()
    assert job["state"] == "cancelled"


def test_contract_an_elevation_grid_shows_its_bar_and_is_cancelled(visit: Visiting, site: str) -> None:
    job = told("grid")
    visited = becoming_a_job(visit, "**/api/drills/*/grids/*", job)
    page = visited.open(f"/drills/{new_drill(site)}?part=ground")
    page.get_by_label("Elevation").first.set_input_files(
        {"name": "bowl.asc", "mimeType": "text/plain", "buffer": GRID}
    )
    shown(page)
    page.get_by_role("button", name="Cancel").click()
    expect(page.get_by_role("progressbar")).to_have_count(0)
    expect(page.get_by_role("alert")).to_have_count(0)


def test_regression_a_grid_given_before_the_list_of_grids_came_keeps_its_bar(
    visit: Visiting, site: str
) -> None:
    job = told("grid")
    visited = becoming_a_job(visit, "**/api/drills/*/grids/*", job)
    lists: list[Route] = []
    visited.context.route("**/api/grids?*", lambda route: lists.append(route))
    page = visited.open(f"/drills/{new_drill(site)}?part=ground")
    page.get_by_label("Elevation").first.set_input_files(
        {"name": "bowl.asc", "mimeType": "text/plain", "buffer": GRID}
    )
    expect(page.get_by_label("Elevation").first).to_be_disabled()
    for one in lists:
        one.continue_()
    shown(page)
