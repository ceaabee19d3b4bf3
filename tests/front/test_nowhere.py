"""A drill that lies nowhere on Earth in the app: its lanes are no file, and the way to tell where is at hand."""

from __future__ import annotations

import json
from copy import deepcopy
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from accessibility import axe
from drill_records import new_drill
from example_records import DRILL
from visiting import LAPTOP, PHONE, Visiting

SLOW_MS = 30_000


def nowhere(site: str) -> str:
    ground = deepcopy(DRILL["site"])
    ground["origin"] |= {"latitude_deg": 0, "longitude_deg": 0}
    return new_drill(site, site=ground)


def opened(page: Page) -> Page:
    expect(page.locator(".told table")).to_be_visible(timeout=SLOW_MS)
    return page


@pytest.mark.parametrize("kind", ["Lanes as GPX", "Lanes as GeoJSON"])
def test_regression_lanes_of_a_drill_that_lies_nowhere_are_refused_in_words_that_lead_on(
    visit: Visiting, site: str, kind: str
) -> None:
    visited = visit()
    asked: list[str] = []
    visited.context.on("request", lambda one: asked.append(one.url))
    page = opened(visited.open(f"/drills/{nowhere(site)}?part=strips"))
    expect(page.get_by_text("Nobody has told where on Earth this ground lies")).to_be_visible()
    page.get_by_role("button", name=kind).click()
    way = page.get_by_role("link", name="Tell where on Earth")
    expect(way).to_be_focused()
    assert not [one for one in asked if "/api/strips/g" in one]
    way.press("Enter")
    latitude = page.get_by_label("Latitude")
    expect(latitude).to_be_focused()
    expect(latitude).to_be_in_viewport()
    latitude.fill("61.2")
    latitude.press("Enter")
    page.get_by_role("navigation", name="Parts").or_(page.locator("nav")).get_by_role(
        "link", name="Strips"
    ).first.click()
    opened(page)
    expect(page.get_by_text("Nobody has told where on Earth")).to_have_count(0)
    with page.expect_download() as waited:
        page.get_by_role("button", name=kind).click()
    text = waited.value.path().read_text()
    assert "61.2" in text


def test_contract_where_on_earth_opens_also_where_it_was_told_before(visit: Visiting, site: str) -> None:
    page = visit().open(f"/drills/{new_drill(site)}?part=ground&at=earth")
    expect(page.get_by_label("Latitude")).to_be_focused()
    expect(page.get_by_label("Latitude")).to_be_in_viewport()


@pytest.mark.parametrize("options", [
    {"viewport": LAPTOP},
    {"viewport": PHONE, "has_touch": True, "color_scheme": "dark", "locale": "de-CH"},
])  # fmt: skip
def test_published_axe_finds_nothing_in_the_refusal(
    visit: Visiting, site: str, options: dict[str, Any]
) -> None:
    page = opened(visit(**options).open(f"/drills/{nowhere(site)}?part=strips"))
    assert json.loads(json.dumps(axe(page))) == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
