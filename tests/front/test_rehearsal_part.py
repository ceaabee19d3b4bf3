"""Rehearsal as a person uses it: start, progress, cancel, reload meanwhile, compare, replay, a failing service."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, Route, expect

from accessibility import axe
from drill_records import asked, new_drill, stored
from example_records import DRILL
from visiting import PHONE, Visit, Visiting, saved

LONG_MS = 120_000
"""A rehearsal may start in plain Python, on a busy machine."""

ONE_BURIAL = {"burials": DRILL["burials"][:1]}


def opened(visited: Visit, drill_id: str) -> Page:
    page = visited.open(f"/drills/{drill_id}?part=rehearsal")
    expect(page.get_by_label("Runs", exact=True)).to_be_visible()
    return page


def rehearse(page: Page, *, runs: int = 40, worth: bool = False, wait: bool = True) -> None:
    """Enter the number of runs, tick options and start, all with the keyboard."""
    field = page.get_by_label("Runs", exact=True)
    field.fill(str(runs))
    field.press("Tab")
    tick = page.get_by_label("Also find what helps most")
    if tick.is_checked() != worth:
        tick.focus()
        page.keyboard.press("Space")
    page.get_by_role("button", name=re.compile("^Rehearse")).first.focus()
    page.keyboard.press("Enter")
    if wait:
        expect(page.get_by_role("progressbar")).to_have_count(0, timeout=LONG_MS)


def result_of(page: Page, site: str) -> dict[str, object]:
    found = re.search(r"job=(\w+)", page.url)
    assert found
    result: dict[str, object] = asked(site, f"jobs/{found[1]}")["result"]
    return result


def test_contract_a_rehearsal_from_start_to_answer_shows_what_the_service_found(
    visit: Visiting, site: str
) -> None:
    page = opened(visit(), new_drill(site))
    rehearse(page)
    expect(page.get_by_text("Last airway free, eight of ten:", exact=False)).to_be_visible()
    table = page.get_by_role("table", name="From the alarm to the open airway")
    expect(table.get_by_role("row")).to_have_count(3)
    result = result_of(page, site)
    assert result["runs"] == 40
    shares = page.locator("table", has_text="Burial A").locator("tbody tr td.figure").all_inner_texts()
    assert sum(int(re.sub(r"\D", "", share)) for share in shares) == pytest.approx(100, abs=3)
    # Survival is hidden until it is requested.
    expect(page.get_by_text("by the choice of curve", exact=False).first).to_be_hidden()
    page.get_by_text("What the minutes mean for survival").click()
    expect(page.get_by_text("by the choice of curve", exact=False).first).to_be_visible()


def test_contract_it_can_be_cancelled_and_nothing_is_kept(visit: Visiting, site: str) -> None:
    page = opened(visit(), new_drill(site))
    rehearse(page, runs=1_000_000, wait=False)
    expect(page.get_by_role("progressbar")).to_be_visible()
    expect(page.get_by_text("it can take minutes", exact=False)).to_be_visible()
    page.get_by_role("button", name="Cancel").click()
    expect(page.get_by_text("Cancelled", exact=False)).to_be_visible(timeout=LONG_MS)
    expect(page.get_by_role("heading", name="Minutes to each airway")).to_have_count(0)


def test_contract_a_reload_meanwhile_finds_it_again_and_another_tab_too(visit: Visiting, site: str) -> None:
    visited = visit()
    page = opened(visited, new_drill(site))
    rehearse(page, runs=600, wait=False)
    expect(page).to_have_url(re.compile("job="))
    page.reload()
    expect(page.get_by_role("heading", name="Minutes to each airway")).to_be_visible(timeout=LONG_MS)
    other = visited.open(page.url.removeprefix(site))
    expect(other.get_by_role("heading", name="Minutes to each airway")).to_be_visible()
    expect(other.get_by_text("as it was before your changes", exact=False)).to_have_count(0)


def test_contract_one_thing_changed_stands_beside_what_was(visit: Visiting, site: str) -> None:
    drill_id = new_drill(site, **ONE_BURIAL)
    visited = visit()
    page = opened(visited, drill_id)
    rehearse(page)
    page.get_by_role("button", name="Keep this as").click()
    expect(page.get_by_text("Change something first", exact=False)).to_be_visible()
    page.get_by_role("link", name="Burials", exact=True).click()
    page.get_by_role("button", name="A", exact=True).first.click()
    depth = page.get_by_label(re.compile("^Depth"))
    depth.fill("1.9")
    depth.press("Enter")
    page.get_by_role("link", name="Rehearsal", exact=True).click()
    expect(page.get_by_text("as it was before your changes", exact=False)).to_be_visible()
    expect(page.get_by_text("What was changed: Burial A: depth.")).to_be_visible()
    rehearse(page)
    beside = page.get_by_role("table", name="The same runs with the same draws")
    expect(beside).to_be_visible(timeout=LONG_MS)
    # One more metre of snow is clearly more than chance: digging grows with the cube of the depth.
    expect(beside.get_by_role("row", name="Last airway")).to_contain_text("more than chance")
    expect(page.get_by_text("as it was before your changes", exact=False)).to_have_count(0)
    page.reload()
    expect(beside).to_be_visible()
    page.get_by_role("button", name="Drop").click()
    expect(page.get_by_role("button", name="Keep this as")).to_be_visible()


def test_contract_one_run_is_seen_on_the_plan(visit: Visiting, site: str) -> None:
    page = opened(visit(), new_drill(site, **ONE_BURIAL))
    rehearse(page)
    page.get_by_role("button", name="median", exact=True).click()
    expect(page.locator("path.person-line")).to_have_count(2)
    slider = page.get_by_role("slider", name="Moment of the run")
    whole = page.locator("path.person-line").first.get_attribute("d")
    slider.focus()
    page.keyboard.press("Home")
    expect(page.get_by_text("Ines gets ready", exact=False)).to_be_visible()
    assert page.locator("path.person-line").first.get_attribute("d") != whole
    page.get_by_role("button", name="Play").click()
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="none", exact=True).click()
    expect(page.locator("path.person-line")).to_have_count(0)


def test_contract_what_helps_most_comes_in_order_with_its_doubt(visit: Visiting, site: str) -> None:
    page = opened(visit(), new_drill(site, **ONE_BURIAL))
    rehearse(page, runs=20, worth=True)
    page.get_by_role("table", name="Each change alone").wait_for(timeout=LONG_MS)
    gains = page.get_by_role("table", name="Each change alone").locator("td").all_inner_texts()
    gains, often = gains[::2], gains[1::2]
    assert all(share.endswith("%") for share in often)
    seconds = [
        float(re.split(r" ±", gain.replace("−", "-"))[0]) * (1 if gain.endswith("s") else 60)
        for gain in gains
    ]
    assert seconds == sorted(seconds, reverse=True)
    assert all("±" in gain for gain in gains)


def test_contract_a_failing_service_is_told(visit: Visiting, site: str) -> None:
    visited = visit()
    visited.troubled = True
    refusal = {
        "title": "x",
        "status": 409,
        "detail": "x",
        "messages": [
            {"code": "verbatim", "values": {"text": "50 jobs are waiting already; cancel some or wait"}}
        ],
    }
    visited.context.route("**/api/jobs/*", lambda route: refuse(route, refusal))
    page = opened(visited, new_drill(site))
    rehearse(page, wait=False)
    expect(page.get_by_role("alert").get_by_text("50 jobs are waiting already", exact=False)).to_be_visible()


def refuse(route: Route, body: dict[str, object]) -> None:
    if route.request.method == "PUT":
        route.fulfill(status=409, json=body)
    else:
        route.continue_()


def test_contract_a_job_of_an_ended_service_is_said_to_be_gone(visit: Visiting, site: str) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open(f"/drills/{new_drill(site)}?part=rehearsal&job=nothing")
    expect(page.get_by_text("results are kept only while", exact=False)).to_be_visible()


def test_contract_ticks_of_the_check_list_stay_with_the_drill_and_are_undone(
    visit: Visiting, site: str
) -> None:
    drill_id = new_drill(site)
    page = visit().open(f"/drills/{drill_id}?part=checks")
    page.get_by_label("Bulletin read", exact=False).check()
    page.get_by_label("Each set seen to transmit", exact=False).check()
    expect(page.get_by_text("2 of 26 ticked")).to_be_visible()
    saved(page)
    assert stored(site, drill_id)["checks"] == ["bulletin", "transmits"]
    assert stored(site, drill_id)["drill_version"] == 1
    page.reload()
    expect(page.get_by_label("Bulletin read", exact=False)).to_be_checked()
    page.get_by_role("button", name="Clear all ticks").click()
    expect(page.get_by_text("0 of 26 ticked")).to_be_visible()
    page.keyboard.press("Control+z")
    expect(page.get_by_text("2 of 26 ticked")).to_be_visible()


def test_contract_what_a_drill_lacks_leads_to_where_it_is_mended(visit: Visiting, site: str) -> None:
    searchers = [{**one, "shovel": False, "probe_length_m": 1.0} for one in DRILL["searchers"]]
    page = visit().open(f"/drills/{new_drill(site, searchers=searchers)}?part=checks")
    expect(page.get_by_text("Nobody has a shovel.")).to_be_visible()
    expect(page.get_by_text("Burial B lies 1.1 m deep; the longest probe reaches 1.0 m.")).to_be_visible()
    expect(page.get_by_text("Fewer than two anchors", exact=False)).to_be_visible()
    page.get_by_role("listitem").filter(has_text="No strip width is set").get_by_role("link").click()
    expect(page).to_have_url(re.compile("part=strips"))
    page.go_back()
    expect(page).to_have_url(re.compile("part=checks"))


def test_published_axe_finds_nothing_to_mend_on_rehearsal_and_check_list(visit: Visiting, site: str) -> None:
    drill_id = new_drill(site, **ONE_BURIAL)
    visited = visit()
    page = opened(visited, drill_id)
    assert axe(page) == []
    rehearse(page)
    job = page.url.partition("job=")[2]
    for options in ({}, {"viewport": PHONE, "locale": "de-CH", "color_scheme": "dark", "has_touch": True}):
        for part in (f"rehearsal&job={job}", "checks"):
            page = visit(**options).open(f"/drills/{drill_id}?part={part}")
            expect(page.locator("main h2").nth(2 if "job" in part else 0)).to_be_visible(timeout=LONG_MS)
            for fold in page.locator("main details summary").all():
                fold.click()
            assert axe(page) == [], (options, part)
            assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
            cut = "all => all.filter(({ scrollWidth, clientWidth }) => scrollWidth > clientWidth).length"
            assert page.locator("main .scroll:has(table)").evaluate_all(cut) == 0, (options, part)
            page.close()


def test_property_a_quantile_later_than_the_horizon_is_null_and_said_so(visit: Visiting, site: str) -> None:
    # Four metres down, one person with one shovel: nobody is free within the hour.
    deep = {**DRILL["burials"][0], "depth_m": 4.0}
    page = opened(visit(), new_drill(site, burials=[deep], searchers=DRILL["searchers"][:1]))
    rehearse(page)
    result = result_of(page, site)
    (found,) = result["burials"]
    assert found["freed_fraction"] < 0.9
    assert found["seconds"]["airway"]["p90"] is None
    assert found["airway_unsure"]["p90"] is None
    lead = page.get_by_text("Airway free, eight of ten:", exact=False)
    expect(lead).to_contain_text("later than 60 min")
    expect(page.get_by_role("table", name="From the alarm to the open airway")).to_contain_text(
        "later than 60 min"
    )
