"""Take a picture of every page while it waits, fails, has lost the service, has parts missing, and as it is.

Run beside `make demo`, with the address it printed and a folder: python design/state_pictures.py
http://127.0.0.1:8457/ FOLDER [phone] [dark] [de] [PAGE ...]
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, Route, sync_playwright
from take_pictures import FLAGS

STEPS = ("run", "splits", "tracks", "buried", "clocks", "standards", "debrief")
PARTS = ("ground", "burials", "group", "hearing", "strips", "rehearsal", "checks")
PAGES = {
    "start": "",
    **{name: name for name in ("drills", "runs", "courses", "people", "kit")},
    "new-drill": "drills?new=",
    "new-run": "runs?new=1",
    "course": "courses/demo-course",
    "person": "people/ines",
    **{f"run-{step}": f"runs/demo-run?step={step}" for step in STEPS},
    **{f"drill-{part}": f"drills/demo-drill?part={part}" for part in PARTS},
    "missing": "people/nobody-of-this-name",
}
BESIDE = re.compile(
    "/api/(hearing-map|overlap|neighbours|flux-line|strips|strip-width|grids|jobs|sites|courses/.*/overview"
    "|people/.*/(overview|history)|debriefs)"
)
"""What parts of a page ask for beside the record that the page is of."""

SETTLE_MS = 1_500
held: list[Route] = []


def hold(route: Route) -> None:
    """Do not answer."""
    held.append(route)


def fail(route: Route) -> None:
    """Answer as a service does that broke down."""
    route.fulfill(status=500, content_type="text/plain", body="Internal Server Error")


def away(page: Page) -> None:
    """Lose the service once the page is there."""
    page.wait_for_timeout(SETTLE_MS)
    page.context.set_offline(True)
    page.evaluate("dispatchEvent(new Event('online'))")


STATES: dict[str, Callable[[Page], object]] = {
    "as-it-is": lambda _page: None,
    "waits": lambda page: page.route("**/api/**", hold),
    "fails": lambda page: page.route("**/api/**", fail),
    "lost": lambda page: page.route("**/api/**", lambda route: route.abort()),
    "parts-wait": lambda page: page.route(BESIDE, hold),
    "parts-fail": lambda page: page.route(BESIDE, fail),
}


def take(address: str, folder: Path, wanted: set[str]) -> None:
    """Write a picture for each page and state, named by both."""
    size = {"width": 390, "height": 844} if "phone" in wanted else {"width": 1280, "height": 800}
    scheme = "dark" if "dark" in wanted else "light"
    locale = "de-AT" if "de" in wanted else "en-GB"
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        for name in (wanted & PAGES.keys()) or PAGES:
            for state, prepare in (*STATES.items(), ("offline", None)):
                context = browser.new_context(viewport=size, color_scheme=scheme, locale=locale)
                page = context.new_page()
                if prepare:
                    prepare(page)
                page.goto(address + PAGES[name])
                if prepare is None:
                    away(page)
                page.wait_for_timeout(SETTLE_MS)
                page.screenshot(path=folder / f"{name}.{state}.png")
                context.close()
        browser.close()


if __name__ == "__main__":
    take(sys.argv[1], Path(sys.argv[2]), set(sys.argv[3:]))
