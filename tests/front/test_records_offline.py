"""What lists of records show if the service is gone while something is created, changed or deleted."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from drill_records import asked, new_drill
from visiting import Visiting

NOT_DONE = "Not done: this needs the service, and Coldfield does not answer."


def typed(page: Page, label: str) -> None:
    page.get_by_label(label, exact=True).fill("Not there yet")
    page.get_by_role("button", name="Add", exact=True).click()


@pytest.mark.parametrize(
    ("path", "label"),
    [("people", "New person"), ("courses", "New course"), ("kit", "Stock number")],
)
def test_contract_a_record_that_cannot_be_made_is_told_and_what_was_typed_stays(
    visit: Visiting, path: str, label: str
) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open(f"/{path}")
    expect(page.get_by_label(label, exact=True)).to_be_visible()
    page.wait_for_load_state("networkidle")
    before = asked(visited.site, f"{path}?limit=500")["items"]
    visited.context.set_offline(True)
    typed(page, label)
    expect(page.get_by_text(NOT_DONE)).to_be_visible()
    expect(page.get_by_label(label, exact=True)).to_have_value("Not there yet")
    assert asked(visited.site, f"{path}?limit=500")["items"] == before
    visited.context.set_offline(False)


def test_contract_a_drill_that_cannot_be_copied_or_deleted_is_told_and_stays(visit: Visiting) -> None:
    visited = visit()
    visited.troubled = True
    new_drill(visited.site, name="Left alone")
    page = visited.open("/drills")
    link = page.get_by_role("link", name="Left alone", exact=True)
    expect(link).to_be_visible()
    visited.context.set_offline(True)
    for what in ("Copy", "Delete"):
        page.get_by_role("button", name=f"{what} Left alone").click()
        expect(page.get_by_text(NOT_DONE)).to_be_visible()
        page.get_by_role("button", name="Close").click()
        expect(link).to_be_visible()
    visited.context.set_offline(False)
    page.reload()
    expect(link).to_be_visible()
    expect(page.get_by_text("Left alone (copy)")).to_have_count(0)


def test_contract_a_piece_of_kit_changed_while_the_service_is_gone_is_kept_and_saved_later(
    visit: Visiting,
) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open("/kit")
    page.get_by_role("button", name="Change HL-03").click()
    page.wait_for_load_state("networkidle")
    visited.context.set_offline(True)
    page.get_by_label("Notes").fill("strap worn")
    expect(page.get_by_text("kept in this browser; saved once Coldfield answers")).to_be_visible()
    visited.context.set_offline(False)
    expect(page.get_by_text("saved", exact=True)).to_be_visible(timeout=20_000)
    (kept,) = (one for one in asked(visited.site, "kit?limit=500")["items"] if one["label"] == "HL-03")
    assert kept["notes"] == "strap worn"


def test_contract_a_run_is_deleted_by_a_button_that_says_so(visit: Visiting) -> None:
    visited = visit()
    drill_id = new_drill(visited.site, name="For one run")
    asked(visited.site, "runs/run-to-delete", {"drill_id": drill_id, "name": "Run to delete"})
    page = visited.open("/runs/run-to-delete?step=run")
    page.get_by_role("button", name="Delete this run").click()
    expect(page.get_by_text("“Run to delete” was deleted.")).to_be_visible()
    page.get_by_role("button", name=re.compile("Undo")).first.click()
    expect(page).to_have_url(re.compile("/runs/run-to-delete"))
