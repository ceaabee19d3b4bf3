"""Splits and observations in two tabs: saved changes appear in the other tab, and nothing is overwritten."""

from __future__ import annotations

import json
import urllib.request
from typing import Any
from uuid import uuid4

import pytest
from playwright.sync_api import Page, Route, expect

from drill_records import asked, new_drill
from visiting import Visiting

CHANGED = "This was changed in another tab or by another program while you changed it here."
DELETED = "This was deleted in another tab or by another program."
ROWS = {
    "splits": ("Note on first signal 1:00", {"split": "first_signal", "since_alarm_s": 60}, "note"),
    "observations": ("About", {"about": "leader chosen"}, "about"),
}


def a_row(site: str, kind: str) -> tuple[str, str]:
    """Keep a run with one row; returns the ids of both."""
    run, row = uuid4().hex, uuid4().hex
    asked(site, f"runs/{run}", {"drill_id": new_drill(site), "name": f"Two tabs {run[:6]}"})
    asked(site, f"{kind}/{row}", {"run_id": run, **ROWS[kind][1]})
    return run, row


def field_of(page: Page, kind: str) -> Any:
    if kind == "splits":
        return page.get_by_label("Note on first signal 1:00")
    return page.get_by_role("table", name="Observations").get_by_label("What was seen")


def changed_elsewhere(site: str, kind: str, row: str, words: str) -> None:
    """Change a row like another program, without a message to the tabs."""
    stored = asked(site, f"{kind}/{row}")
    stamps = ("id", "version", "created_utc", "changed_utc", "deletion_id")
    body = {key: value for key, value in stored.items() if key not in stamps} | {ROWS[kind][2]: words}
    request = urllib.request.Request(
        f"{site}/api/{kind}/{row}",
        data=json.dumps(body).encode(),
        method="PUT",
        headers={"content-type": "application/json", "if-match": f'"{stored["version"]}"'},
    )
    urllib.request.urlopen(request, timeout=20).close()


def typed(page: Page, kind: str, words: str) -> None:
    field_of(page, kind).fill(words)
    field_of(page, kind).press("Tab")


@pytest.mark.parametrize("kind", list(ROWS))
@pytest.mark.parametrize(
    ("button", "stands"), [("Keep what stands here", "mine"), ("Take the other", "theirs")]
)
def test_contract_a_row_changed_elsewhere_is_asked_about_and_never_written_over(
    visit: Visiting, kind: str, button: str, stands: str
) -> None:
    visited = visit()
    visited.troubled = True
    run, row = a_row(visited.site, kind)
    page = visited.open(f"/runs/{run}?step=splits")
    expect(field_of(page, kind)).to_be_visible()
    changed_elsewhere(visited.site, kind, row, "theirs")
    typed(page, kind, "mine")
    expect(page.get_by_role("alert").filter(has_text=CHANGED)).to_be_visible()
    assert asked(visited.site, f"{kind}/{row}")[ROWS[kind][2]] == "theirs"
    # A reloaded page asks as well.
    page.reload()
    expect(page.get_by_role("alert").filter(has_text=CHANGED)).to_be_visible()
    expect(field_of(page, kind)).to_have_value("mine")
    page.get_by_role("button", name=button).click()
    expect(page.get_by_role("alert").filter(has_text=CHANGED)).to_have_count(0)
    expect(field_of(page, kind)).to_have_value(stands)
    page.reload()
    expect(field_of(page, kind)).to_have_value(stands)
    assert asked(visited.site, f"{kind}/{row}")[ROWS[kind][2]] == stands


def test_contract_what_one_tab_saves_stands_in_the_other(visit: Visiting) -> None:
    visited = visit()
    run, _ = a_row(visited.site, "splits")
    first = visited.open(f"/runs/{run}?step=splits")
    second = visited.context.new_page()
    second.goto(first.url)
    expect(field_of(second, "splits")).to_be_visible()
    typed(first, "splits", "from the first tab")
    expect(field_of(second, "splits")).to_have_value("from the first tab")
    typed(second, "splits", "and from the second")
    expect(field_of(first, "splits")).to_have_value("and from the second")
    first.get_by_role("button", name="Remove first signal 1:00").click()
    expect(field_of(second, "splits")).to_have_count(0)


def test_contract_a_row_deleted_elsewhere_can_be_brought_back_as_it_stands_here(visit: Visiting) -> None:
    visited = visit()
    visited.troubled = True
    run, row = a_row(visited.site, "splits")
    page = visited.open(f"/runs/{run}?step=splits")
    expect(field_of(page, "splits")).to_be_visible()
    asked(visited.site, f"splits/{row}", {}, method="DELETE")
    typed(page, "splits", "mine")
    expect(page.get_by_role("alert").filter(has_text=DELETED)).to_be_visible()
    page.get_by_role("button", name="Bring it back as it stands here").click()
    expect(page.get_by_role("alert").filter(has_text=DELETED)).to_have_count(0)
    page.reload()
    expect(field_of(page, "splits")).to_have_value("mine")


def test_contract_a_write_is_sent_again_while_the_records_are_busy_and_the_page_says_so(
    visit: Visiting,
) -> None:
    visited = visit()
    visited.troubled = True
    run, row = a_row(visited.site, "splits")
    page = visited.open(f"/runs/{run}?step=splits")
    busy = True

    def answer(route: Route) -> None:
        if busy and route.request.method == "PUT":
            told = {
                "type": "urn:coldfield:busy",
                "title": "busy",
                "status": 503,
                "detail": "busy",
                "faults": [],
            }
            route.fulfill(status=503, json=told, headers={"retry-after": "1"})
        else:
            route.continue_()

    page.route("**/api/splits/*", answer)
    typed(page, "splits", "in the end")
    expect(page.get_by_text("The records are busy with another change")).to_be_visible()
    busy = False
    expect(page.get_by_text("The records are busy with another change")).to_have_count(0, timeout=10_000)
    assert asked(visited.site, f"splits/{row}")["note"] == "in the end"
