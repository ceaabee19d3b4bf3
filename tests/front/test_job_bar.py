"""Long work on a page: it says correctly what it waits for, and one bar covers all its stages."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from drill_records import new_drill
from visiting import Visiting

WAITS = "Waiting for other work"


def job(route: Route, **told: Any) -> None:
    route.fulfill(
        json={
            "id": "j", "work": "rehearse", "state": "running", "done": 0, "total": 0, "stage": "",
            "stage_done": 0, "stage_total": 0, "waits_for": None, "faults": [], "revision": 1, **told,
        }
    )  # fmt: skip


def answering(visit: Visiting, path: str, told: dict[str, Any]) -> Page:
    visited = visit()
    visited.context.route("**/api/jobs/*", lambda route: job(route, **told))
    return visited.open(path)


def test_regression_work_that_is_just_ordered_is_not_said_to_wait_for_other_work(
    visit: Visiting, site: str
) -> None:
    told: dict[str, Any] = {"state": "waiting"}
    page = answering(visit, f"/drills/{new_drill(site)}?part=rehearsal", told)
    page.get_by_role("button", name="Rehearse", exact=True).click()
    expect(page.get_by_text("Getting ready ...").first).to_be_attached()
    expect(page.get_by_text(WAITS)).to_have_count(0)
    told |= {"waits_for": "other work"}
    expect(page.get_by_text(WAITS).first).to_be_attached()
    told |= {"waits_for": "getting ready"}
    expect(page.get_by_text("Waiting until Coldfield is ready").first).to_be_attached()


@pytest.mark.parametrize(
    ("stage", "at", "share"),
    [("runs", (1000, 1000), 1 / 15), ("before", (0, 1000), 1 / 15), ("changes", (13, 13), 0.99)],
)
def test_regression_one_bar_runs_over_all_stages_of_a_rehearsal(
    visit: Visiting, site: str, stage: str, at: tuple[int, int], share: float
) -> None:
    done = round(15_000 * share)
    told = {"stage": stage, "stage_done": at[0], "stage_total": at[1], "done": done, "total": 15_000}
    page = answering(visit, f"/drills/{new_drill(site)}?part=rehearsal", told)
    page.get_by_role("button", name="Rehearse", exact=True).click()
    bar = page.get_by_role("progressbar")
    expect(bar).to_have_js_property("position", done / 15_000)
    expect(page.get_by_text(f"{at[0]:,} of {at[1]:,}").first).to_be_attached()


def test_contract_the_bar_of_a_real_rehearsal_never_falls(visit: Visiting, site: str) -> None:
    page = visit().open(f"/drills/{new_drill(site)}?part=rehearsal")
    page.evaluate(
        """() => {
            window.seen = []
            const note = () => {
                const bar = document.querySelector('main progress')
                if (bar && bar.position >= 0 && window.seen.at(-1) !== bar.position) window.seen.push(bar.position)
            }
            new MutationObserver(note).observe(document.body, {subtree: true, childList: true, attributes: true, characterData: true})
        }"""
    )
    page.get_by_label("Runs").fill("100")
    page.get_by_label("Runs").press("Tab")
    page.get_by_role("button", name="Rehearse", exact=True).click()
    expect(page.get_by_role("heading", name="Minutes to each airway")).to_be_visible(timeout=120_000)
    seen = page.evaluate("window.seen")
    assert seen == sorted(seen)


def test_regression_a_debrief_tells_its_stages_on_one_bar(visit: Visiting) -> None:
    told = {"work": "debrief", "stage": "rehearsing", "stage_done": 50, "stage_total": 200}
    visited = visit()
    visited.context.add_init_script("sessionStorage.setItem('coldfield.job.debrief.demo-run', 'j')")
    visited.context.route("**/api/jobs/*", lambda route: job(route, **told, done=43, total=100))
    page = visited.open("/runs/demo-run?step=debrief")
    expect(page.get_by_text("Rehearsing the drill as it was buried: 50 of 200 runs").first).to_be_attached()
    expect(page.get_by_role("progressbar")).to_have_js_property("position", 0.43)
