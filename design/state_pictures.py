"""Take a picture of every page: on every screen, on paper, and while loading, failing or without the service.

Run beside `make demo`, with the address it printed and a folder: python design/state_pictures.py
http://127.0.0.1:8457/ FOLDER [phone | tablet | wall | print] [dark] [de] [STATE ...] [PAGE ...]
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, Page, Route, ViewportSize, sync_playwright
from take_pictures import FLAGS

STEPS = ("run", "splits", "tracks", "buried", "clocks", "standards", "debrief")
PARTS = ("ground", "burials", "group", "hearing", "strips", "rehearsal", "checks")
PAGES = {
    "start": "",
    "try": "?try=1",
    "first-start": "?demo=",
    **{name: name for name in ("drills", "runs", "courses", "people", "kit", "coach", "propose", "service")},
    "new-drill": "drills?new=",
    "share": "drills?share=",
    "new-run": "runs?new=1",
    "course": "courses/demo-course",
    "person": "people/ines",
    **{f"run-{step}": f"runs/demo-run?step={step}" for step in STEPS},
    **{f"drill-{part}": f"drills/demo-drill?part={part}" for part in PARTS},
    "debrief": "debriefs/demo-debrief",
    "clock": "clock",
    "missing": "people/nobody-of-this-name",
}
SIZES: dict[str, ViewportSize] = {
    "laptop": {"width": 1280, "height": 800},
    "phone": {"width": 390, "height": 844},
    "tablet": {"width": 820, "height": 1180},
    "wall": {"width": 1920, "height": 1080},
    "print": {"width": 695, "height": 1017},
}
"""Paper is A4 without its margins."""
WALL = {"run-debrief": "&view=wall", "debrief": "?view=wall"}
"""Pages with a separate view for the wall."""

BESIDE = re.compile(
    "/api/(hearing-map|overlap|neighbours|flux-line|strips|strip-width|grids|jobs|sites|courses/.*/overview"
    "|people/.*/(overview|history)|debriefs)"
)
"""The requests of a page besides that for its own record."""

SETTLE_MS = 1_500
held: list[Route] = []


def hold(route: Route) -> None:
    """Never answer."""
    held.append(route)


def fail(route: Route) -> None:
    """Answer like a service that failed."""
    route.fulfill(status=500, content_type="text/plain", body="Internal Server Error")


def away(page: Page) -> None:
    """Lose the service once the page is loaded."""
    page.context.set_offline(True)
    page.evaluate("dispatchEvent(new Event('online'))")
    page.wait_for_timeout(SETTLE_MS)


STATES: dict[str, Callable[[Page], object]] = {
    "as-it-is": lambda _page: None,
    "waits": lambda page: page.route("**/api/**", hold),
    "fails": lambda page: page.route("**/api/**", fail),
    "lost": lambda page: page.route("**/api/**", lambda route: route.abort()),
    "parts-wait": lambda page: page.route(BESIDE, hold),
    "parts-fail": lambda page: page.route(BESIDE, fail),
    "offline": lambda _page: None,
}


def take_one(browser: Browser, address: str, path: Path, state: str, wanted: set[str]) -> None:
    """Write the picture of one page in one state."""
    size = next((name for name in SIZES if name in wanted), "laptop")
    context = browser.new_context(
        viewport=SIZES[size],
        color_scheme="dark" if "dark" in wanted else "light",
        locale="de-AT" if "de" in wanted else "en-GB",
    )
    page = context.new_page()
    STATES[state](page)
    page.goto(address)
    page.wait_for_timeout(SETTLE_MS)
    if state == "offline":
        away(page)
    if size == "print":
        page.emulate_media(media="print")
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
    page.screenshot(path=path, full_page=state == "as-it-is" and size != "wall")
    context.close()


def take(address: str, folder: Path, wanted: set[str]) -> None:
    """Write a picture for each page and state, named by both."""
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        for name in [one for one in PAGES if one in wanted] or PAGES:
            for state in [one for one in STATES if one in wanted] or STATES:
                there = address + PAGES[name] + (WALL.get(name, "") if "wall" in wanted else "")
                take_one(browser, there, folder / f"{name}.{state}.png", state, wanted)
        browser.close()


if __name__ == "__main__":
    take(sys.argv[1], Path(sys.argv[2]), set(sys.argv[3:]))
