"""Every page on every screen, in large type, in wide spacing, on the wall and on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from accessibility import axe
from amount import places
from drill_records import asked
from visiting import LAPTOP, PHONE, PROJECTOR, Visit, Visiting

DRILL, RUN = "/drills/demo-drill", "/runs/demo-run"
PARTS = ["ground", "burials", "group", "hearing", "strips", "checks"]
STEPS = ["run", "splits", "tracks", "buried", "clocks", "standards", "debrief"]
LISTS = ["/", "/drills", "/runs", "/courses", "/people", "/kit"]
ADDRESSES = [
    *LISTS,
    "/courses/demo-course",
    "/people/ines",
    "/service",
    "/debriefs/demo-debrief",
    *(f"{DRILL}?part={part}" for part in PARTS),
    *(f"{RUN}?step={step}" for step in STEPS),
]
# WCAG 2.2, 1.4.12: text spacing that a reader may set without losing content.
SPACED = """() => {
    const sheet = new CSSStyleSheet()
    sheet.replaceSync(`* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
        word-spacing: 0.16em !important } p { margin-bottom: 2em !important }`)
    document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet]
}"""
# Text outside the window without a scrolling container.
OUTSIDE = """() => {
    const wide = document.documentElement.clientWidth
    const held = (element) => {
        for (let up = element.parentElement; up && up !== document.body; up = up.parentElement)
            if (up.tagName === 'svg' || getComputedStyle(up).overflowX !== 'visible') return true
        return element.closest('.unseen, .skip') !== null || getComputedStyle(element).visibility === 'hidden'
    }
    const out = [...document.body.querySelectorAll('*')].filter((element) => {
        const box = element.getBoundingClientRect()
        return box.width && box.height && (box.right > wide + 1 || box.left < -1) && !held(element)
    })
    const told = out.slice(0, 4).map((element) => element.outerHTML.slice(0, 100))
    return document.scrollingElement.scrollWidth > wide ? ['the page scrolls sideways', ...told] : told
}"""
SMALL = """() => [...document.querySelectorAll('button, select, summary')]
    .filter((one) => one.checkVisibility({visibilityProperty: true}) && !one.closest('.unseen'))
    .map((one) => [one.getBoundingClientRect(), one.outerHTML.slice(0, 90)])
    .filter(([box]) => box.height < 43.5 || box.width < 24)
    .map(([box, html]) => `${box.width} x ${box.height}: ${html}`)"""
AS_BEFORE_PAPER = "() => dispatchEvent(new Event('beforeprint'))"
CUT_OFF = """() => [...document.querySelectorAll('main svg, main table, main figure, main canvas')]
    .filter((one) => one.checkVisibility() && !one.closest('.unseen'))
    .filter((one) => one.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
    .map((one) => one.outerHTML.slice(0, 100))"""
A4_PX: ViewportSize = {"width": 695, "height": 1017}
"""The paper without its margins."""


@pytest.fixture(scope="module")
def rehearsed(site: str) -> str:
    """Return the address of a rehearsal's result."""
    job = uuid4().hex
    order = {"work": "rehearse", "drill": asked(site, "drills/demo-drill")["document"], "runs": 30}
    asked(site, f"jobs/{job}", {**order, "worth": True, "anywhere": False, "seed": 1})
    return f"{DRILL}?part=rehearsal&job={job}"


def shown(page: Page) -> None:
    expect(page.locator("h1").first).to_be_visible()
    if "part=rehearsal" in page.url:
        expect(page.get_by_role("heading", name="What helps most")).to_be_visible(timeout=120_000)
    page.wait_for_load_state("networkidle")


def large(page: Page, times: int) -> None:
    page.evaluate("(times) => (document.documentElement.style.fontSize = `${100 * times}%`)", times)


def settled(page: Page) -> None:
    """Wait until the changed size has been drawn."""
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def walk(visited: Visit, addresses: list[str]) -> Iterator[tuple[str, Page]]:
    page = visited.open(addresses[0])
    for address in addresses:
        if page.url != visited.site + address:
            page.goto(visited.site + address)
        shown(page)
        yield address, page


def outside(page: Page, sizes: list[tuple[int, int]], height: int) -> dict[str, list[str]]:
    """Return what is outside the window, for each width and text size."""
    found: dict[str, list[str]] = {}
    for width, times in sizes:
        page.set_viewport_size({"width": width, "height": height})
        large(page, times)
        settled(page)
        if told := page.evaluate(OUTSIDE):
            found[f"{page.url} {width} px, {times} times"] = told
    large(page, 1)
    return found


def test_published_no_page_scrolls_sideways_on_laptop_or_tablet_or_in_type_of_200_percent(
    visit: Visiting, rehearsed: str
) -> None:
    for _, page in walk(visit(), [*places(ADDRESSES, 8), rehearsed]):
        assert outside(page, [(1280, 1), (1280, 2), (820, 1)], LAPTOP["height"]) == {}


def test_published_a_phone_scrolls_down_only_and_what_is_pressed_has_room_for_a_glove(
    visit: Visiting, rehearsed: str
) -> None:
    for address, page in walk(visit(viewport=PHONE, has_touch=True), [*places(ADDRESSES, 9), rehearsed]):
        if address != "/service":
            assert page.evaluate(SMALL) == [], address
        if address.startswith("/drills/") or "step=debrief" in address:
            plan = page.locator("[data-sheet]").bounding_box()
            assert plan is not None, address
            # The question and its answer, or the findings, come first; the plan is below them.
            for above in page.locator("main :is(h1, .answer, .fact, #findings)").all():
                box = above.bounding_box()
                assert box is not None, address
                assert box["y"] + box["height"] <= plan["y"], address
        assert outside(page, [(390, 2), (320, 1), (390, 1)], PHONE["height"]) == {}
        page.evaluate(SPACED)
        settled(page)
        assert page.evaluate(OUTSIDE) == [], f"{address}, spaced"


OPENED = {
    f"{DRILL}?part=burials": "main table button",
    f"{DRILL}?part=group": "main table button",
    f"{DRILL}?part=ground": "main details:has(table) > summary",
    "/kit": "tbody button",
    "/runs": "button.main",
    "/drills": "button.main",
    "/people/ines": ".screen-only button:last-of-type",
    "/debriefs/demo-debrief": "figcaption button",
}
"""What opens a form or a list, by address."""


def test_published_what_opens_on_a_page_fits_a_phone_too(visit: Visiting) -> None:
    for address, page in walk(visit(viewport=PHONE, has_touch=True), list(OPENED)):
        page.locator(OPENED[address]).last.click()
        page.wait_for_load_state("networkidle")
        assert page.evaluate(SMALL) == [], address
        assert outside(page, [(390, 1), (390, 2), (320, 1)], PHONE["height"]) == {}
        if "debriefs" in address:
            large(page, 2)
            settled(page)
            plan, below = page.locator("figure").bounding_box(), page.locator(".steps").bounding_box()
            assert plan is not None
            assert below is not None
            assert plan["y"] + plan["height"] <= below["y"]


def papers(rehearsed: str) -> dict[str, list[str]]:
    """Return what must be on paper, by address."""
    practice = "use your training, not this"
    return {
        f"{DRILL}?part=burials": ["Two in the lower bowl", "1.2 m", "Never bury a person", practice],
        f"{DRILL}?part=hearing": ["Tomas hears nothing on", "edge of hearing A", practice],
        f"{DRILL}?part=strips": ["Strips 32", "Tomas", "2 min", practice],
        f"{DRILL}?part=checks": ["No list is complete", "Pits filled", "Notes of the day", practice],
        rehearsed: ["eight of ten", "Minutes to each airway", "What helps most", practice],
        f"{RUN}?step=splits": ["probe strike", practice],
        f"{RUN}?step=debrief": ["Where did the minutes go?", "Bram turned soon", "Cautions", practice],
        "/debriefs/demo-debrief": ["Where did the minutes go?", "Bram turned soon", "Cautions"],
        "/courses/demo-course": ["February course", "Vardholm Bowl", "participant", practice],
        "/people/ines": ["How is Ines getting on?", "14 Feb 2026", practice],
        "/kit": ["HL-S1", "blade bent", practice],
    }


def values(page: Page) -> str:
    """Return the values of the fields, which are text on paper."""
    told: str = page.evaluate(
        """() => [...document.querySelectorAll('main :is(input, select)')]
            .map((one) => one.selectedOptions?.[0]?.text ?? one.value).join(' ')"""
    )
    return told


def test_contract_paper_is_light_and_whole_with_its_cautions_and_nothing_to_press(
    visit: Visiting, rehearsed: str
) -> None:
    wanted = papers(rehearsed)
    for address, page in walk(visit(color_scheme="dark"), list(wanted)):
        paper = page.pdf(prefer_css_page_size=True)
        assert 1 <= len(re.findall(rb"/Type\s*/Page\b", paper)) <= 6, address
        page.set_viewport_size(A4_PX)
        page.emulate_media(media="print")
        page.evaluate(AS_BEFORE_PAPER)
        settled(page)
        words = (page.locator("body").inner_text() + values(page)).replace("\u00a0", " ")
        assert [one for one in wanted[address] if one not in words] == [], address
        assert page.evaluate(CUT_OFF) == [], address
        assert page.locator("nav:visible, form:visible button:visible").count() == 0, address
        assert not re.search(r"\b(Undo|Redo|Print|Rehearse|Delete|Remove|Add|Dark|Wall)\b", words), address
        assert page.get_by_role("link", name="Where the minutes go").count() == 0, address
        assert ground(page) == "rgb(255, 255, 255)", address
        page.emulate_media(media="null")
        page.set_viewport_size(LAPTOP)


def ground(page: Page) -> Any:
    return page.evaluate("() => getComputedStyle(document.documentElement).backgroundColor")


def test_contract_a_hearing_map_goes_to_paper_in_light_colours_and_comes_back_dark(visit: Visiting) -> None:
    page = visit(color_scheme="dark").open(f"{DRILL}?part=hearing")
    shown(page)
    theme = page.locator("html[data-theme='dark']")
    expect(theme).to_have_count(1)
    page.locator("canvas[data-drawn]").wait_for()
    brightness = """() => {
        const canvas = document.querySelector('canvas[data-hearing]')
        const copy = new OffscreenCanvas(canvas.width, canvas.height).getContext('2d', {willReadFrequently: true})
        copy.drawImage(canvas, 0, 0)
        const {data} = copy.getImageData(0, 0, canvas.width, canvas.height)
        let [sum, n] = [0, 0]
        for (let i = 0; i < data.length; i += 4) if (data[i + 3] > 250) { sum += data[i]; n += 1 }
        return sum / n
    }"""
    dark = page.evaluate(brightness)
    page.evaluate(AS_BEFORE_PAPER)
    assert page.evaluate(brightness) > dark + 60
    page.evaluate("() => dispatchEvent(new Event('afterprint'))")
    expect(theme).to_have_count(1)
    settled(page)
    assert page.evaluate(brightness) < dark + 20


def test_published_axe_finds_nothing_on_the_wall_once_a_finding_is_chosen(visit: Visiting) -> None:
    page = visit(viewport=PROJECTOR).open(f"{RUN}?step=debrief&view=wall")
    shown(page)
    page.keyboard.press("n")
    expect(page.get_by_text(re.compile(r"\b1 of \d+"))).to_be_visible()
    assert axe(page) == []
    assert page.evaluate(OUTSIDE) == []
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")
    page.set_viewport_size(PHONE)
    settled(page)
    assert page.evaluate(OUTSIDE) == []
