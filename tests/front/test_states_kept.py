"""Typed text is kept: failed saves, records deleted elsewhere, pages left without the service; going back."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from playwright.sync_api import Page, Route, expect

from accessibility import axe
from drill_records import asked, new_drill
from example_records import DRILL
from visiting import Visit, Visiting, saved, served_here

AGAIN_MS = 20_000


def person(site: str, name: str = "Leif") -> str:
    person_id = uuid4().hex
    asked(site, f"people/{person_id}", {"name": name, "contact": "", "notes": ""})
    return person_id


def opened(page: Page, words: str) -> Page:
    expect(page.get_by_role("heading", level=1)).to_contain_text(words)
    return page


def refuse_saves(page: Page, status: int) -> None:
    def meet(route: Route) -> None:
        if route.request.method == "PUT":
            route.fulfill(status=status, content_type="text/plain", body="Internal Server Error")
        else:
            route.fallback()

    page.route("**/api/**", meet)


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("/people/{person}", "Name"),
        ("/courses/demo-course", "Course"),
        ("/drills/{drill}", "Name of the drill"),
        ("/runs/demo-run?step=run", "Name of the run"),
    ],
)
def test_contract_what_could_not_be_saved_is_told_kept_over_a_reload_and_saved_later(
    visit: Visiting, site: str, path: str, field: str
) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open(path.format(person=person(site), drill=new_drill(site)))
    box = page.get_by_label(field, exact=True)
    before = box.input_value()
    refuse_saves(page, 500)
    box.fill("Kept all the same")
    box.press("Tab")
    expect(page.get_by_text("kept in this browser; saved once Coldfield answers")).to_be_visible()
    expect(page.get_by_role("alert")).to_contain_text("Coldfield failed at this")
    assert axe(page) == []
    page.reload()
    expect(box).to_have_value("Kept all the same")
    expect(page.get_by_text("kept in this browser; saved once Coldfield answers")).to_be_visible()
    page.unroute_all()
    expect(page.get_by_text("saved", exact=True)).to_be_visible(timeout=AGAIN_MS)
    box.fill(before)
    box.press("Tab")
    saved(page)


# --- deleted elsewhere ------------------------------------------------------------------------------


def test_contract_a_record_deleted_in_another_tab_is_brought_back_as_it_stands(
    visit: Visiting, site: str
) -> None:
    visited = visit()
    visited.troubled = True
    person_id = person(site, "Pia the second")
    page = opened(visited.open(f"/people/{person_id}"), "Pia the second")
    other = opened(visited.open(f"/people/{person_id}"), "Pia the second")
    other.get_by_role("button", name="Delete this person").click()
    opened(other, "Who practises")
    expect(page.get_by_text("deleted elsewhere")).to_be_visible()
    page.get_by_label("Name").fill("Pia the third")
    assert axe(page) == []
    page.get_by_role("button", name="Bring it back as it stands here").click()
    saved(page)
    assert asked(site, f"people/{person_id}")["name"] == "Pia the third"
    expect(other.get_by_role("link", name="Pia the third")).to_be_visible()


def test_contract_a_record_deleted_elsewhere_is_found_out_by_saving_and_let_go(
    visit: Visiting, site: str
) -> None:
    visited = visit()
    visited.troubled = True
    drill_id = new_drill(site)
    page = visited.open(f"/drills/{drill_id}?part=burials")
    name = page.get_by_label("Name of the drill")
    expect(name).to_be_visible()
    page.request.delete(f"{site}/api/drills/{drill_id}")
    name.fill("Renamed too late")
    name.press("Tab")
    expect(page.get_by_text("deleted elsewhere")).to_be_visible()
    expect(name).to_have_value("Renamed too late")
    assert axe(page) == []
    page.get_by_role("button", name="Leave it deleted").click()
    opened(page, "This was deleted")
    assert axe(page) == []
    page.get_by_role("button", name="Bring it back").click()
    opened(page, "What is hidden")
    expect(name).not_to_have_value("Renamed too late")


@pytest.mark.parametrize("kind", ["people", "courses", "drills", "runs"])
def test_contract_an_address_of_something_deleted_brings_it_back(
    visit: Visiting, site: str, kind: str
) -> None:
    visited = visit()
    visited.troubled = True
    record_id = uuid4().hex
    form = {
        "people": {"name": "Noor"},
        "courses": {"name": "A course"},
        "drills": {"document": DRILL},
        "runs": {"drill_id": new_drill(site), "name": "A run", "held_utc": "2026-02-14T09:30:00Z"},
    }[kind]
    asked(site, f"{kind}/{record_id}", form)
    page = visited.open("/service")
    page.request.delete(f"{site}/api/{kind}/{record_id}")
    page.goto(f"{site}/{kind}/{record_id}")
    opened(page, "This was deleted")
    assert axe(page) == []
    page.get_by_role("button", name="Bring it back").click()
    expect(page.get_by_role("heading", level=1)).not_to_have_text("This was deleted")
    expect(page.get_by_text("saved", exact=True)).to_be_visible()


# --- left while the service is gone -----------------------------------------------------------------


FETCHED = """() => performance.getEntriesByType('resource')
  .some((one) => one.name.includes('/KitPage') && one.name.endsWith('.js') && one.responseEnd > 0)"""
"""The other pages have been loaded in the background."""


def leave_a_change(visited: Visit, person_id: str, name: str) -> Page:
    """Change a name while the service is gone, and go on to another page."""
    page = visited.open(f"/people/{person_id}")
    expect(page.get_by_label("Name", exact=True)).to_be_visible()
    page.wait_for_function(FETCHED)
    visited.context.set_offline(True)
    page.get_by_label("Name", exact=True).fill(name)
    expect(page.get_by_text("kept in this browser; saved once Coldfield answers")).to_be_visible()
    page.get_by_role("link", name="Kit").click()
    opened(page, "What is there")
    expect(page.get_by_role("alert")).to_contain_text("Coldfield does not answer")
    return page


def test_contract_a_change_on_a_page_that_was_left_is_saved_once_the_service_answers(
    visit: Visiting, site: str
) -> None:
    visited = visit()
    visited.troubled = True
    person_id = person(site, "Tomas")
    page = leave_a_change(visited, person_id, "Tomas, changed")
    visited.context.set_offline(False)
    expect(page.get_by_role("table")).to_be_visible(timeout=AGAIN_MS)
    page.get_by_role("link", name="People").click()
    expect(page.get_by_role("link", name="Tomas, changed")).to_be_visible(timeout=AGAIN_MS)


def test_contract_a_change_left_behind_never_goes_over_somebody_elses(visit: Visiting, site: str) -> None:
    visited = visit()
    visited.troubled = True
    person_id = person(site, "Yuki")
    page = leave_a_change(visited, person_id, "Yuki, changed here")
    kept = page.request.put(
        f"{site}/api/people/{person_id}",
        data={"name": "Yuki, changed elsewhere"},
        headers={"if-match": '"1"'},
    )
    assert kept.ok
    visited.context.set_offline(False)
    expect(page.get_by_text("A change made earlier is not saved")).to_be_visible(timeout=AGAIN_MS)
    assert axe(page) == []
    page.get_by_role("link", name="Yuki, changed here").click()
    expect(page.get_by_text("changed elsewhere")).to_be_visible()
    page.get_by_role("button", name="Keep what stands here").click()
    saved(page)
    assert asked(site, f"people/{person_id}")["name"] == "Yuki, changed here"
    expect(page.get_by_text("A change made earlier is not saved")).to_have_count(0, timeout=AGAIN_MS)


# --- back, forward, reload --------------------------------------------------------------------------


@pytest.fixture
def season_site(season_records: Path, tmp_path: Path) -> Iterator[str]:
    """Serve the records of many years: 400 people, 3,000 runs."""
    with served_here(shutil.copytree(season_records, tmp_path / "records")) as address:
        yield address


def test_contract_going_back_finds_a_list_as_long_as_it_was_and_the_place_that_was_read(
    season_site: str, visit: Visiting
) -> None:
    page = visit(season_site).open("/service")
    for address, each in (("/people", "tbody tr"), ("/runs", ".cards > li")):
        rows = page.locator(each)
        page.goto(season_site + address)
        for _ in range(2):
            page.get_by_role("button", name="Show more").click()
            expect(page.get_by_role("button", name="Show more")).to_be_enabled()
        expect(rows).to_have_count(250)
        rows.nth(200).scroll_into_view_if_needed()
        # The step of the history has stored the scroll position.
        page.wait_for_function("() => scrollY > 0 && Math.abs((history.state?.y ?? -9) - scrollY) < 2")
        read = page.evaluate("scrollY")
        rows.nth(200).get_by_role("link").first.click()
        expect(rows.nth(200)).to_have_count(0)
        page.wait_for_function("scrollY < 200")
        page.go_back()
        expect(rows).to_have_count(250)
        page.wait_for_function("y => Math.abs(scrollY - y) < 2", arg=read)
        page.reload()
        expect(rows).to_have_count(250)
        page.wait_for_function("y => Math.abs(scrollY - y) < 2", arg=read)
        page.go_forward()
        expect(page.get_by_role("heading", level=1)).to_be_visible()


def test_contract_parts_and_steps_and_findings_are_found_by_back_forward_and_reload(
    visit: Visiting, site: str
) -> None:
    page = visit().open(f"/drills/{new_drill(site)}?part=burials")
    opened(page, "What is hidden")
    page.get_by_role("link", name="Group", exact=True).click()
    opened(page, "Who searches")
    page.go_back()
    opened(page, "What is hidden")
    page.go_forward()
    opened(page, "Who searches")
    page.reload()
    opened(page, "Who searches")
    page.goto(site + "/runs/demo-run")
    findings = page.locator("#findings li")
    findings.nth(2).get_by_role("button").first.click()
    expect(page).to_have_url(re.compile("finding=3"))
    page.get_by_role("navigation", name="Steps of the evening").get_by_role("link", name="Splits").click()
    opened(page, "What was noted during the run?")
    page.go_back()
    third = findings.nth(2).get_by_role("button").first
    expect(third).to_have_attribute("aria-current", "true")
    page.reload()
    expect(third).to_have_attribute("aria-current", "true")


# --- long work --------------------------------------------------------------------------------------


def test_contract_work_that_cannot_be_looked_at_is_told_and_goes_on(visit: Visiting, site: str) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open(f"/drills/{new_drill(site)}?part=rehearsal")
    failing = True

    def meet(route: Route) -> None:
        if failing and route.request.method != "PUT":
            route.fulfill(status=500, content_type="text/plain", body="Internal Server Error")
        else:
            route.fallback()

    page.route("**/api/jobs/*", meet)
    page.route("**/api/jobs/*/cancel", meet)
    page.get_by_label("Runs", exact=True).fill("40")
    page.get_by_label("Also find what helps most").uncheck()
    page.get_by_role("button", name="Rehearse").click()
    expect(page.get_by_text("The progress is not known just now.")).to_be_visible(timeout=AGAIN_MS)
    assert axe(page) == []
    page.get_by_role("button", name="Cancel").click()
    expect(page.get_by_text("Not done: Coldfield failed at this")).to_be_visible()
    failing = False
    expect(page.get_by_role("heading", name="Minutes to each airway")).to_be_visible(timeout=120_000)


def test_contract_a_debrief_whose_work_is_no_longer_known_is_begun_again(visit: Visiting, site: str) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open("/service")
    page.evaluate("sessionStorage.setItem('coldfield.job.debrief.demo-run', 'nothing')")
    page.goto(site + "/runs/demo-run?step=debrief")
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("jobs end with the service: start it again")
    expect(alert.get_by_role("button", name="Try again")).to_be_visible()
    expect(page.get_by_role("heading", name="Where did the minutes go?")).to_be_visible()
    assert axe(page) == []
    alert.get_by_role("button", name="Dismiss").click()
    expect(alert).to_have_count(0)


def test_contract_work_that_was_ordered_offline_begins_once_the_service_answers(
    visit: Visiting, site: str
) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open(f"/drills/{new_drill(site)}?part=rehearsal")
    page.get_by_label("Runs", exact=True).fill("40")
    page.get_by_label("Also find what helps most").uncheck()
    visited.context.set_offline(True)
    page.get_by_role("button", name="Rehearse").click()
    expect(page.get_by_text("Not started yet: Coldfield does not answer.")).to_be_visible()
    page.get_by_role("button", name="Cancel").click()
    expect(page.get_by_text("Cancelled", exact=False)).to_be_visible()
    page.get_by_role("button", name="Rehearse").click()
    expect(page.get_by_text("Not started yet: Coldfield does not answer.")).to_be_visible()
    visited.context.set_offline(False)
    expect(page.get_by_role("heading", name="Minutes to each airway")).to_be_visible(timeout=120_000)


def test_contract_a_choice_that_was_not_kept_goes_back_to_what_is(visit: Visiting) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open("/runs/demo-run?step=tracks")
    whose = page.locator("ul.tracks > li").filter(has_text="bram.gpx").get_by_label("Whose")
    before = whose.input_value()
    refuse_saves(page, 500)
    whose.select_option(label="nobody’s: leave it out")
    expect(page.get_by_text("Not done: Coldfield failed at this")).to_be_visible()
    expect(whose).to_have_value(before)
    page.goto(visited.site + "/courses/demo-course")
    part = page.get_by_label("Pia takes part as")
    before = part.input_value()
    part.select_option("helper")
    expect(page.get_by_text("Not done: Coldfield failed at this")).to_be_visible()
    expect(part).to_have_value(before)
    failing = True

    def meet(route: Route) -> None:
        if failing:
            route.fulfill(status=500, body="Internal Server Error")
        else:
            route.fallback()

    page.route("**/api/people?*", meet)
    page.get_by_label("Add a person").fill("Add")
    expect(page.get_by_role("alert")).to_contain_text("Coldfield failed at this")
    failing = False
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("button", name="New person Add")).to_be_visible()
    page.goto(visited.site + "/kit")
    page.route("**/api/kit/*", lambda route: route.abort())
    page.get_by_role("button", name="Change HL-03").click()
    expect(page.get_by_role("alert")).to_contain_text("This could not be loaded")
    page.get_by_role("button", name="Close").click()
    expect(page.get_by_role("button", name="Change HL-03")).to_be_focused()


def test_regression_people_of_one_name_stand_beside_each_other(visit: Visiting, site: str) -> None:
    for _ in range(2):
        person(site, "Ada")
    group = [{**one, "name": "Ines", "shovel": False} for one in DRILL["searchers"]]
    drill_id = new_drill(site, searchers=group)
    page = visit().open(f"/drills/{drill_id}?part=ground")
    for part in ("Group", "Hearing", "Strips", "Rehearsal", "Check list", "Group"):
        page.get_by_role("link", name=part, exact=True).first.click()
        expect(page.get_by_role("navigation", name="Parts of the drill")).to_be_visible()
        expect(page.locator("[aria-current=step]")).to_have_text(part)
        expect(page.get_by_role("heading", level=1)).not_to_have_text("This page failed")
        if part == "Strips":
            expect(page.get_by_text("All lanes have been walked after")).to_be_visible(timeout=AGAIN_MS)
