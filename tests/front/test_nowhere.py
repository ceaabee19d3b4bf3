"""A drill without a map position in the app: its lanes cannot be saved, and there is a link to set the position."""

from __future__ import annotations

import json
import urllib.request
from copy import deepcopy
from typing import Any
from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from accessibility import axe
from drill_records import asked, new_drill
from example_records import DRILL
from visiting import LAPTOP, PHONE, Visiting, saved

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
    expect(page.get_by_text("The map position of this ground is not set")).to_be_visible()
    page.get_by_role("button", name=kind).click()
    way = page.get_by_role("link", name="Set the map position")
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
    expect(page.get_by_text("The map position")).to_have_count(0)
    with page.expect_download() as waited:
        page.get_by_role("button", name=kind).click()
    text = waited.value.path().read_text()
    assert "61.2" in text


def debriefed(site: str) -> str:
    """Debrief a run on a drill without a map position, recorded in site metres; returns the run's id."""
    run_id = uuid4().hex
    who = [{"searcher": "s1", "person_id": None}]
    told = {"drill_id": nowhere(site), "held_utc": "2026-02-14T09:30:00Z", "searchers": who}
    asked(site, f"runs/{run_id}", told)
    rows = "".join(
        f"2026-02-14T09:{30 + k // 60}:{k % 60:02d}Z,{10 + 0.1 * k:.1f},{0.3 * k:.1f}\n" for k in range(180)
    )
    address = f"{site}/api/runs/{run_id}/tracks/{uuid4().hex}?file_name=ines.csv&searcher=s1"
    send = urllib.request.Request(address, data=f"time,east_m,north_m\n{rows}".encode(), method="PUT")
    urllib.request.urlopen(send, timeout=20).close()
    job = uuid4().hex
    asked(site, f"jobs/{job}", {"work": "debrief", "run_id": run_id})
    with urllib.request.urlopen(f"{site}/api/jobs/{job}/events", timeout=180) as events:
        events.read()
    told = asked(site, f"jobs/{job}")
    assert told["state"] == "done", told
    return run_id


@pytest.mark.parametrize("options", [
    {"viewport": LAPTOP, "locale": "en-GB"},
    {"viewport": PHONE, "has_touch": True, "color_scheme": "dark", "locale": "en-GB"},
])  # fmt: skip
def test_regression_cleaned_tracks_of_a_drill_that_lies_nowhere_lead_to_where_on_earth(
    visit: Visiting, site: str, options: dict[str, Any]
) -> None:
    visited = visit(**options)
    visited.troubled = True  # the refusal is a response with status 422
    page = visited.open(f"/runs/{debriefed(site)}?step=debrief")
    tracks = page.get_by_role("link", name="Cleaned tracks (GPX)")
    tracks.click()
    way = page.get_by_role("link", name="Set the map position")
    expect(way).to_be_focused()
    expect(page.get_by_role("alert")).to_contain_text("The map position")
    assert json.loads(json.dumps(axe(page))) == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    back = page.url
    way.press("Enter")
    for label, value in (("Latitude", "61.2"), ("Longitude", "8.1")):
        page.get_by_label(label).fill(value)
        page.get_by_label(label).press("Enter")
    saved(page)
    page.goto(back)
    with page.expect_download() as waited:
        tracks.click()
    assert 'lat="61.2' in waited.value.path().read_text()


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
