"""Every page of the clock: large enough, far enough apart, readable, usable; emergency, hiding, checking."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from accessibility import axe
from clock_visits import KEPT, RUN_ID, brought, quiet_page, split, stored, written_run
from keyboard import Keys
from visiting import LAPTOP, PHONE

Phone = Callable[..., Page]
# Visible things that can be pressed, with their boxes; links within a line of text do not count as targets.
TARGETS = """() => [...document.querySelectorAll('button, a.key, label.key, summary, input, select, textarea')]
  .filter((one) => one.checkVisibility() && !one.closest('label.key') | one.matches('label.key') && one.type !== 'file')
  .map((one) => {
    const box = (one.closest('.tickbox') ?? one).getBoundingClientRect()
    return { name: one.textContent.trim().slice(0, 40) || one.tagName, x: box.x, y: box.y, w: box.width, h: box.height }
  })"""


@pytest.fixture
def phone(browser: Browser, tmp_path: Path) -> Iterator[Phone]:
    """Open a page of the demo's run on a phone: `phone('hide', '...')`."""
    trouble: list[str] = []
    contexts: list[BrowserContext] = []
    file = written_run(tmp_path).as_uri()

    def opening(*parts: str, **options: Any) -> Page:
        options = {"viewport": PHONE, "locale": "en-GB", "reduced_motion": "reduce"} | options
        contexts.append(browser.new_context(**options))
        page = quiet_page(contexts[-1], trouble)
        page.goto(f"{file}#{'/'.join(parts)}" if parts else file)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        return page

    yield opening
    for context in contexts:
        context.close()
    assert trouble == []


def alarm(page: Page) -> None:
    page.get_by_role("button", name=re.compile("^Alarm$")).click()
    expect(page.get_by_role("timer")).to_be_visible()


def unfolded(page: Page) -> Page:
    """Open everything that is collapsed."""
    page.evaluate("for (const one of document.querySelectorAll('main details')) one.open = true")
    return page


PAGES = {
    "start": ("/",), "before": ("run", RUN_ID), "hide": ("run", RUN_ID, "hide"), "after": ("run", RUN_ID, "after"),
    "splits": ("run", RUN_ID, "splits"), "check": ("check", "c-" + RUN_ID), "back": ("back",), "here": ("here",),
    "stopped": ("run", RUN_ID, "stopped"),
}  # fmt: skip


@pytest.mark.parametrize("name", PAGES)
def test_published_rules_of_accessibility_on_every_page_in_both_themes_and_german(
    phone: Phone, name: str
) -> None:
    # axe-core, WCAG 2.2 A and AA.
    for options in ({"color_scheme": "light"}, {"color_scheme": "dark", "locale": "de-CH"}):
        page = unfolded(phone(*PAGES[name], **options))
        assert axe(page) == []
        assert not re.search(
            r"\b(clock|run|check|hide|back|here|stopped|after)\.[a-z]\w+", page.locator("body").inner_text()
        )


def test_published_rules_of_accessibility_while_a_run_is_timed(phone: Phone) -> None:
    page = phone()
    alarm(page)
    split(page, "first signal")
    assert axe(unfolded(page)) == []
    page.get_by_role("button", name="Stop: real emergency").click()
    assert axe(page) == []


@pytest.mark.parametrize("name", ["start", "before", "hide", "after", "back", "check"])
def test_contract_targets_are_64_pixels_and_16_apart(phone: Phone, name: str) -> None:
    page = unfolded(phone(*PAGES[name]))
    if name == "hide":
        page.get_by_role("button", name="Note where A is hidden").click()
        page.get_by_role("button", name="two anchors").click()
    assert_targets(page)


def test_contract_targets_of_the_running_clock(phone: Phone) -> None:
    page = phone()
    alarm(page)
    split(page, "first signal")
    assert_targets(unfolded(page))
    big = page.locator(".big-key").bounding_box()
    figures = page.evaluate("parseFloat(getComputedStyle(document.querySelector('.elapsed')).fontSize)")
    assert big is not None
    assert big["height"] >= 96
    assert figures >= 96


def assert_targets(page: Page) -> None:
    # The bar at the bottom covers what is scrolled under it; here it gets its own place.
    page.evaluate("for (const bar of document.querySelectorAll('.foot-bar')) bar.style.position = 'static'")
    targets = page.evaluate(TARGETS)
    assert len(targets) >= 3
    small = [one for one in targets if one["h"] < 63.9]
    assert small == []
    near = [
        (a["name"], b["name"])
        for i, a in enumerate(targets)
        for b in targets[i + 1 :]
        if _gap(a, b) < 15.9 and a["name"] != b["name"]
    ]
    assert near == []


def _gap(a: dict[str, float], b: dict[str, float]) -> float:
    across = max(a["x"] - b["x"] - b["w"], b["x"] - a["x"] - a["w"])
    down = max(a["y"] - b["y"] - b["h"], b["y"] - a["y"] - a["h"])
    return max(across, down)


@pytest.mark.parametrize("width", [320, 390])
def test_contract_very_large_type_and_a_narrow_phone_need_no_scrolling_sideways(
    phone: Phone, width: int
) -> None:
    for name, parts in PAGES.items():
        page = phone(*parts, viewport={"width": width, "height": 700})
        if width == 390:
            page.evaluate("document.documentElement.style.fontSize = '200%'")
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, name
        page.context.close()


def test_contract_a_run_goes_by_keys_alone(phone: Phone) -> None:
    page = phone(viewport=LAPTOP)
    keys = Keys(page)
    keys.to("^Alarm$")
    keys.press("Enter")
    expect(page.get_by_role("timer")).to_be_visible()
    keys.to("first signal")
    page.keyboard.press("Enter")
    expect(page.get_by_text(KEPT)).to_be_visible()
    keys.to("Undo", back=True)
    page.keyboard.press("Enter")
    expect(page.locator(".last")).to_have_count(0)
    assert [item["kind"] for item in stored(page)] == ["alarm", "split", "undo"]


def test_contract_a_real_emergency_takes_two_presses_and_shows_no_time(phone: Phone) -> None:
    page = phone()
    alarm(page)
    page.clock.install()
    page.reload()
    page.get_by_role("button", name="Stop: real emergency").click()
    page.clock.pause_at(page.evaluate("Date.now()") + 100)
    page.get_by_role("button", name="No, go on with the drill").click()
    expect(page.get_by_role("timer")).to_be_visible()
    page.get_by_role("button", name="Stop: real emergency").click()
    page.get_by_role("button", name="Yes, stop the drill").click()
    # Pressed at once, it does nothing yet.
    expect(page.get_by_role("dialog")).to_be_visible()
    page.clock.run_for(800)
    page.get_by_role("button", name="Yes, stop the drill").click()

    expect(page.get_by_text("Use your training, not this tool.")).to_be_visible()
    expect(page.get_by_text("Granite")).to_be_visible()
    expect(page.get_by_role("link", name="1234")).to_have_attribute("href", "tel:1234")
    assert page.get_by_role("timer").count() == 0
    assert not re.search(r"\d:\d\d", page.locator("body").inner_text())
    expect(page.get_by_text("No hidden set is on this phone’s list.")).to_be_visible()
    page.reload()
    expect(page.get_by_text("Use your training, not this tool.")).to_be_visible()
    page.get_by_role("button", name="It was not real").click()
    page.get_by_role("button", name="Yes, back to the drill").click()
    expect(page.get_by_role("timer")).to_be_visible()


def hide(page: Page, burial: str) -> None:
    page.get_by_role("button", name=f"Note where {burial} is hidden").click()
    page.get_by_label("Set, by its stock number").fill(f"HL-0{burial}")
    page.get_by_role("button", name="Yes, seen").click()
    page.get_by_role("button", name="two anchors").click()
    distances = page.get_by_label("Distance, m")
    distances.nth(0).fill("12,5")
    distances.nth(1).fill("30")
    page.get_by_role("button", name="right", exact=True).click()
    page.get_by_role("button", name="0.8 m").click()
    page.get_by_label("Hidden by").fill("Ines")
    page.get_by_label("Signed out of the stock").check()
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_role("button", name=f"Note {burial} again")).to_be_visible()


def test_contract_hidden_sets_are_counted_in_and_none_is_left_without_a_word(phone: Phone) -> None:
    page = phone("run", RUN_ID, "hide")
    expect(page.get_by_role("img", name=re.compile("^Plan in thin lines"))).to_be_visible()
    expect(page.get_by_text("Keep this phone 20 cm or more from a set that is being hidden.")).to_be_visible()
    hide(page, "A")
    hide(page, "B")
    expect(page.get_by_text("12.5").first).to_be_visible()
    page.get_by_role("link", name="To the run").click()
    alarm(page)
    page.get_by_role("button", name="Stop: real emergency").click()
    expect(page.get_by_role("dialog")).to_be_visible()
    page.keyboard.press("Escape")
    page.get_by_role("link", name="End of the run").click()
    page.get_by_role("button", name="Back", exact=True).first.click()
    expect(page.get_by_role("heading", name="Sets: 1 of 2 back")).to_be_visible()
    for box in page.get_by_role("checkbox").all():
        box.check()
    page.get_by_role("button", name="Close with a set missing").click()
    expect(page.get_by_role("alert")).to_have_text("Say what is done about it; then you can close the run.")
    page.get_by_label("What is done about it, and who knows").fill("Probed, told the patrol")
    page.get_by_role("button", name="Close with a set missing").click()
    expect(page.get_by_role("heading", name="What has not been brought back yet?")).to_be_visible()

    items = {item.kind: item for item in brought(page).items}
    assert items["close"].missing == ["B"]
    hidden = items["hidden"].model_dump()
    assert (hidden["set"], hidden["transmits"], hidden["depth_m"], hidden["out"]) == (
        "HL-0B",
        True,
        0.8,
        True,
    )
    assert [one["distance_m"] for one in hidden["place"]["anchors"]] == [12.5, 30]
    assert hidden["place"]["side"] == "right"


def test_contract_a_group_check_person_by_person(phone: Phone) -> None:
    page = phone("check", "c-" + RUN_ID)
    expect(page.get_by_text("Somebody else holds this phone, 5 m away, in flight mode.")).to_be_visible()
    page.get_by_label("Who leads the check").fill("Ines")
    page.get_by_role("button", name="Simple check").click()
    expect(page.get_by_role("heading", name="Transmits: Bram")).to_be_visible()
    expect(page.get_by_text("3 m or more")).to_be_visible()
    page.get_by_label("Set, by its stock number").fill("HL-04")
    page.get_by_label("Read from the set just now").check()
    page.get_by_role("button", name="yes", exact=True).click()
    page.get_by_label("Reading at 1 m, in m").fill("1,5")
    expect(page.get_by_text("Have it looked at: reading outside the expected range")).to_be_visible()
    expect(page.get_by_text("0.77 to 1.26")).to_be_visible()
    page.get_by_role("button", name="Keep, next person").click()
    for name in ("Yuki", "Tomas"):
        expect(page.get_by_role("heading", name=f"Transmits: {name}")).to_be_visible()
        page.get_by_role("button", name="yes", exact=True).click()
        page.get_by_role("button", name="Keep, next person").click()
    expect(page.get_by_role("heading", name="Leader: Ines")).to_be_visible()
    expect(page.get_by_text("Show it to Tomas")).to_be_visible()
    page.get_by_role("button", name="yes", exact=True).click()
    page.get_by_role("button", name="Keep, next person").click()
    expect(page.get_by_text("Everybody has walked past")).to_be_visible()
    assert not re.search(r"\b(defective|good|safe|passed|failed)\b", page.locator("body").inner_text())
    page.reload()
    page.get_by_role("button", name="End the check").click()

    items = [item.model_dump() for item in brought(page).items]
    checked = [item for item in items if item["kind"] == "checked"]
    assert next((one["name"], one["set"], one["look_at"]) for one in checked) == (
        "Bram",
        "HL-04",
        ["reading"],
    )
    assert items[-1]["kind"] == "check_end"
    assert items[-1]["not_checked"] == []
    # Next time the set is remembered, and has to be read again.
    page.goto(page.url.split("#")[0] + "#check/other")
    page.get_by_label("Add names").fill("Bram")
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_role("button", name="Full check").click()
    expect(page.get_by_label("Set, by its stock number")).to_have_value("HL-04")
    expect(page.get_by_label("Read from the set just now")).not_to_be_checked()
