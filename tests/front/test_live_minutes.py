"""The minutes at the plan follow changes: in every part, while something moves, and with one final value."""

from __future__ import annotations

import json
import re

from playwright.sync_api import Page, Route, expect

from accessibility import axe
from drill_records import asked, new_drill, stored
from visiting import PHONE, Visiting, drag, middle, saved

LONG_MS = 120_000
PARTS = ("ground", "burials", "group", "hearing", "strips", "rehearsal", "checks")


def line(page: Page) -> str:
    """Return the minutes once they are settled."""
    settled = page.locator("p.minutes strong[data-settled=true]")
    expect(settled).to_be_visible(timeout=LONG_MS)
    return settled.inner_text()


def test_contract_the_minutes_stand_in_every_part_and_are_those_of_the_rehearsal(
    visit: Visiting, site: str
) -> None:
    drill_id = new_drill(site)
    visited = visit()
    page = visited.open(f"/drills/{drill_id}?part=rehearsal")
    said = line(page)
    assert re.search(r"eight of ten: [\d½]+ to [\d½]+\smin · half by [\d½]+\smin", said), said
    for part in PARTS:
        page.get_by_role("navigation", name="Parts").locator(f"a[href$='part={part}']").click()
        assert line(page) == said
    page.get_by_role("navigation", name="Parts").locator("a[href$='part=rehearsal']").click()
    page.get_by_role("button", name=re.compile("^Rehearse")).first.click()
    lead = page.get_by_text("Last airway free, eight of ten:", exact=False)
    expect(lead).to_be_visible(timeout=LONG_MS)
    band = said.removeprefix("eight of ten: ").split(" · ")[0]
    assert band in lead.inner_text().replace("\u00a0", " ") or band in lead.inner_text()


def test_contract_a_drag_is_followed_and_an_older_answer_never_comes_after_a_newer_one(
    visit: Visiting, site: str
) -> None:
    drill_id = new_drill(site)
    visited = visit()
    page = visited.open(f"/drills/{drill_id}?part=burials")
    before = line(page)
    asked_for: list[str] = []

    def late(route: Route) -> None:
        asked_for.append(route.request.post_data or "")
        route.continue_()

    page.route("**/api/minutes", late)
    page.evaluate(
        """() => {
          window.shown = []
          const at = document.querySelector('p.minutes')
          const look = () => window.shown.push(at.querySelector('strong').dataset.runs)
          new MutationObserver(look).observe(at, { subtree: true, childList: true, characterData: true, attributes: true })
        }"""
    )
    burial = page.get_by_role("button", name=re.compile("^Burial A"))
    x, y = middle(burial)
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 30):
        page.mouse.move(x, y + 7 * step)
    # The minutes change already during the drag.
    expect(page.locator("p.minutes strong")).not_to_have_text(before)
    held = len(asked_for)
    page.mouse.up()
    after = line(page)
    assert held >= 1
    last = [json.loads(body) for body in asked_for[-2:]]
    assert [one["settled"] for one in last] == [False, True]
    saved(page)
    assert last[-1]["drill"]["burials"] == stored(site, drill_id)["document"]["burials"]
    # The final value is the same as on a newly opened page.
    assert line(visited.open(f"/drills/{drill_id}?part=burials")) == after


def test_contract_shovel_depth_and_width_are_followed_too(visit: Visiting, site: str) -> None:
    drill_id = new_drill(site)
    page = visit().open(f"/drills/{drill_id}?part=burials")
    said = [line(page)]
    page.get_by_role("button", name="A", exact=True).first.click()
    depth = page.get_by_label(re.compile("^Depth"))
    depth.fill("2.4")
    depth.press("Enter")
    expect(page.locator("p.minutes strong")).not_to_have_text(said[-1])
    said.append(line(page))
    page.get_by_role("link", name="Strips", exact=True).click()
    width = page.get_by_label(re.compile("^Width for this drill"))
    width.fill("15")
    width.press("Enter")
    expect(page.locator("p.minutes strong")).not_to_have_text(said[-1])
    said.append(line(page))
    saved(page)
    document = asked(site, f"drills/{drill_id}")["document"]
    assert document["burials"][0]["depth_m"] == 2.4
    assert document["conditions"]["strip_width_m"] == 15


def test_contract_without_a_burial_it_says_what_is_missing_and_where(visit: Visiting, site: str) -> None:
    drill_id = new_drill(site, burials=[])
    page = visit(viewport=PHONE).open(f"/drills/{drill_id}?part=ground")
    page.get_by_role("link", name="To the burials").first.click()
    expect(page).to_have_url(re.compile("part=burials"))
    assert not axe(page)


def test_contract_a_burial_outside_keeps_the_last_minutes_until_it_is_back(
    visit: Visiting, site: str
) -> None:
    drill_id = new_drill(site)
    visited = visit()
    # An impossible drill is refused, which the browser's console reports.
    visited.troubled = True
    page = visited.open(f"/drills/{drill_id}?part=burials")
    before = line(page)
    burial = page.get_by_role("button", name=re.compile("^Burial A"))
    drag(page, burial, -2000, 0)
    expect(page.locator("p.minutes.behind")).to_contain_text(before)
    page.keyboard.press("Control+z")
    assert line(page) == before
