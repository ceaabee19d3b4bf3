"""Every mark on a plan is on paper too, in both themes, for a drill and a debrief."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from drill_records import new_drill
from example_records import DRILL
from visiting import Visiting

FRAME = "[data-sheet] :is(.cross, .tick, .over *)"
"""The grid and its numbers, which depend on the size of the sheet."""

FOR_HANDS = "[data-sheet] :is(.grip, .middle, :is(.corner, .side, .handle) *, g:has(> .handle) > line)"
"""Handles, which are only needed for dragging."""

MARKS = """(forHands) => {
    const shapes = [...document.querySelectorAll('[data-sheet] :is(path, circle, rect, line, ellipse, polygon)')]
    const handled = new Set(document.querySelectorAll(forHands))
    const seen = (one) => {
        for (let at = one; at; at = at.parentElement) {
            const style = getComputedStyle(at)
            if (style.display === 'none') return false
        }
        return getComputedStyle(one).visibility === 'visible'
    }
    return shapes.filter((one) => !handled.has(one) && seen(one)).length
}"""

INK = """() => [...document.querySelectorAll('[data-sheet] .entry')].map((one) => {
    const style = getComputedStyle(one)
    return [style.display, style.stroke, one.getBoundingClientRect().width > 0]
})"""

BEFORE, AFTER = (f"() => dispatchEvent(new Event('{name}print'))" for name in ("before", "after"))


def with_all_marks(site: str) -> str:
    anchors = [{"name": "cairn", "position_m": [5, 5]}, {"name": "pole", "position_m": [50, 60]}]
    ground = {**DRILL["site"], "last_seen_m": [20, 20], "anchors": anchors}
    return new_drill(site, site=ground)


def on_paper(page: Page) -> None:
    page.emulate_media(media="print")
    page.evaluate(BEFORE)


def checked(page: Page) -> None:
    """Compare what the plan shows on the screen and on paper."""
    entry = page.locator("[data-sheet] .entry")
    expect(entry).to_have_count(1)
    on_screen: int = page.evaluate(MARKS, f"{FOR_HANDS}, {FRAME}")
    on_paper(page)
    expect(page.locator("html")).to_have_attribute("data-theme", "light")
    expect(entry).to_be_visible()
    kept: Any = page.evaluate(INK)
    assert kept == [["inline", "rgb(27, 36, 48)", True]], "ink on paper"
    assert page.evaluate(MARKS, f"{FOR_HANDS}, {FRAME}") >= on_screen
    page.evaluate(AFTER)
    page.emulate_media(media="null")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("part", ["ground", "burials", "hearing"])
def test_regression_every_mark_of_a_drill_is_on_paper(
    visit: Visiting, site: str, theme: str, part: str
) -> None:
    page = visit(color_scheme=theme).open(f"/drills/{with_all_marks(site)}?part={part}")
    expect(page.locator("[data-sheet] text", has_text="Last seen").first).to_be_attached()
    checked(page)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_regression_every_mark_of_a_debrief_is_on_paper(visit: Visiting, theme: str) -> None:
    page = visit(color_scheme=theme).open("/runs/demo-run?step=debrief")
    expect(page.locator("[data-sheet] .burial").first).to_be_visible()
    checked(page)
