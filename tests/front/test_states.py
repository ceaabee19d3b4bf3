"""Every page while loading, with a failed answer, without the service, and when that is back.

Each state is checked once in each theme. The content of the answers is tested with the pages.
"""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from accessibility import axe
from amount import places
from drill_records import new_drill
from visiting import Visiting

FAILED = "This could not be loaded"
LOST = "Coldfield does not answer. Is it still running"
BAR = "What you change is kept in this browser"
OWN_FAULT = "Coldfield failed at this; the fault is not in what you did."
AGAIN_MS = 20_000
"""The page checks again after 2 s, later after up to 15 s."""

PAGES = {
    "/": "What do you want to prepare?",
    "/drills": "Which drill?",
    "/runs": "Which run do you want to look at?",
    "/courses": "Which course?",
    "/people": "Who practises",
    "/kit": "What is there",
    "/courses/demo-course": "Who comes, when",
    "/people/ines": "How is Ines getting on?",
    "/runs/demo-run?step=splits": "What was noted during the run?",
    "/runs/demo-run": "Where did the minutes go?",
    "/drills/{drill}?part=burials": "What is hidden, where and how deep?",
}


class Service:
    """What the service does with a matching request: hold it, fail, disconnect, answer."""

    def __init__(self, page: Page, what: str = r"/api/(?!ready)") -> None:
        self.does = "answer"
        self.held: list[Route] = []
        page.route(re.compile(what), self._meet)

    def _meet(self, route: Route) -> None:
        if self.does == "hold":
            self.held.append(route)
        else:
            self._end(route)

    def _end(self, route: Route) -> None:
        if self.does == "fail in words":
            problem = {"title": "Full", "status": 507, "detail": "the disk is full: free some space"}
            route.fulfill(status=507, json=problem)
        elif self.does == "fail":
            route.fulfill(status=500, content_type="text/plain", body="Internal Server Error")
        elif self.does == "break off":
            route.abort("connectionreset")
        else:
            route.continue_()

    def go_on(self, does: str) -> None:
        """Do this from now on, and with held requests."""
        self.does = does
        held, self.held = self.held, []
        for route in held:
            self._end(route)


def nothing_to_mend(page: Page) -> None:
    """Check a state in both themes."""
    for theme in ("dark", "light"):
        page.evaluate("theme => document.documentElement.dataset.theme = theme", theme)
        assert axe(page) == [], theme


@pytest.fixture(scope="module")
def drill(site: str) -> str:
    return new_drill(site)


@pytest.mark.desk
@pytest.mark.parametrize("path", places(list(PAGES), 6))
def test_contract_a_page_waits_fails_is_lost_and_comes_back(visit: Visiting, drill: str, path: str) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open("/service")
    service = Service(page)
    service.does = "hold"
    page.goto(visited.site + path.format(drill=drill))
    expect(page.get_by_text("Loading ...").first).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_have_count(1)
    nothing_to_mend(page)
    service.go_on("fail")
    alert = page.get_by_role("alert").last
    expect(alert).to_contain_text(FAILED)
    expect(alert).to_contain_text(OWN_FAULT)
    expect(page.get_by_text(re.compile("HTTP|500|Internal"))).to_have_count(0)
    expect(page.get_by_role("heading", level=1)).to_have_count(1)
    nothing_to_mend(page)
    service.does = "fail in words"
    alert.get_by_role("button", name="Try again").click()
    expect(alert).to_contain_text("the disk is full: free some space")
    service.does = "break off"
    alert.get_by_role("button", name="Try again").click()
    expect(alert).to_contain_text(LOST)
    expect(page.get_by_role("status").filter(has_text=BAR)).to_be_visible()
    nothing_to_mend(page)
    service.does = "answer"
    expect(page.get_by_role("heading", level=1)).to_contain_text(PAGES[path], timeout=AGAIN_MS)
    expect(page.get_by_text(FAILED)).to_have_count(0, timeout=AGAIN_MS)
    expect(page.get_by_text(BAR)).to_have_count(0)
    # The button pressed last is gone; the next key continues from the page.
    assert page.evaluate("document.activeElement.id === 'page' || document.activeElement !== document.body")


def test_contract_the_same_in_german(visit: Visiting, drill: str) -> None:
    visited = visit(locale="de-AT")
    visited.troubled = True
    page = visited.open("/service")
    service = Service(page)
    service.does = "hold"
    page.goto(f"{visited.site}/drills/{drill}")
    expect(page.get_by_text("Wird geladen ...")).to_be_visible()
    service.go_on("fail")
    expect(page.get_by_role("alert")).to_contain_text("der Fehler liegt nicht bei dir")
    service.does = "break off"
    page.get_by_role("button", name="Noch einmal versuchen").click()
    expect(page.get_by_role("alert")).to_contain_text("Läuft es noch auf diesem Rechner?")
    assert page.locator("main [lang=en]").count() == 0
    assert axe(page) == []


def test_contract_who_waits_long_is_told_that_it_goes_on(visit: Visiting) -> None:
    page = visit().open("/service")
    page.clock.install()
    service = Service(page)
    service.does = "hold"
    page.goto(page.url.removesuffix("/service") + "/people/ines")
    page.clock.run_for(1_000)
    expect(page.get_by_text("Loading ...")).to_be_visible()
    expect(page.get_by_text("This takes longer than usual.")).to_have_count(0)
    page.clock.run_for(8_000)
    expect(page.get_by_text("This takes longer than usual. It is still running")).to_be_visible()
    service.go_on("answer")
    expect(page.get_by_role("heading", level=1)).to_contain_text("How is Ines getting on?")


def test_contract_a_page_whose_file_does_not_come_is_told_and_opened_later(visit: Visiting) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open("/service")
    page.route("**/assets/PeoplePage*", lambda route: route.abort())
    service = Service(page, "/api/")
    service.does = "break off"
    page.goto(visited.site + "/people")
    expect(page.get_by_role("alert")).to_contain_text(LOST)
    expect(page.get_by_role("heading", level=1)).to_have_text(FAILED)
    service.does = "answer"
    expect(page.get_by_role("heading", name="Coldfield was updated")).to_be_visible(timeout=AGAIN_MS)
    nothing_to_mend(page)
    page.unroute("**/assets/PeoplePage*")
    page.get_by_role("button", name="Load the page again").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Who practises")


# --- a part of a page -------------------------------------------------------------------------------

PARTS: dict[str, dict[str, Any]] = {
    "/courses/demo-course": {"fails": "/courses/.*/overview", "stays": "Course", "said": FAILED},
    "/people/ines": {"fails": "/people/.*/history", "stays": "Name", "said": FAILED},
    "/drills/{drill}?part=ground": {
        "fails": "/grids",
        "stays": "Name of the drill",
        "said": "The elevation grid:",
    },
    "/drills/{drill}?part=hearing": {
        "fails": "/overlap",
        "stays": "Who listens",
        "said": "overlap could not",
    },
    "/drills/{drill}?part=hearing&": {
        "fails": "/neighbours",
        "stays": "Who listens",
        "said": "nearby drills could not be looked up",
    },
    "/drills/{drill}?part=hearing&&": {"fails": "/hearing-map", "stays": "Who listens", "said": FAILED},
    "/drills/{drill}?part=strips": {"fails": "/strip-width", "stays": "People who search", "said": FAILED},
    "/runs?new=1": {"fails": r"/drills\?", "stays": "Find", "said": FAILED},
}


@pytest.mark.desk
@pytest.mark.parametrize("path", places(list(PARTS), 5))
def test_contract_a_part_that_fails_leaves_the_rest_and_is_asked_for_again(
    visit: Visiting, drill: str, path: str
) -> None:
    part = PARTS[path]
    visited = visit()
    visited.troubled = True
    page = visited.open("/service")
    service = Service(page, f"/api{part['fails']}")
    service.does = "fail"
    page.goto(visited.site + path.format(drill=drill))
    said = page.get_by_text(part["said"], exact=False).first
    expect(said).to_be_visible(timeout=AGAIN_MS)
    expect(page.get_by_label(part["stays"]).first).to_be_enabled()
    assert axe(page) == []
    service.does = "answer"
    page.get_by_role("button", name="Try again").first.click()
    expect(page.get_by_role("button", name="Try again")).to_have_count(0, timeout=AGAIN_MS)
    expect(said).to_have_count(0)
