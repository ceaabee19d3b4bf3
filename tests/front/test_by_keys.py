"""The work from a new drill to a finding, with the keyboard alone (WCAG 2.1.1, 2.4.3, 2.4.7, 2.4.11, 2.5.7)."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

import drill_records
from drill_records import new_drill
from keyboard import Keys
from visiting import Visit, Visiting, middle, saved


def said(page: Page, words: str) -> None:
    """Check that this is announced to screen readers."""
    expect(page.locator("#told")).to_have_text(re.compile(words.replace(" ", r"\s")))


def kept(visited: Visit, drill_id: str) -> dict[str, Any]:
    document: dict[str, Any] = drill_records.stored(visited.site, drill_id)["document"]
    return document


def pressed(keys: Keys, name: str) -> None:
    """Go to a button, press it, and check that its tool has the focus."""
    keys.to(name)
    keys.press("Enter")
    keys.on("Plan of the drill")


def test_contract_a_drill_is_begun_and_its_ground_drawn_by_keys_alone(visit: Visiting) -> None:
    visited = visit()
    page = visited.open("/drills")
    keys = Keys(page)
    keys.to("New drill")
    keys.press("Enter")
    keys.on("What is it called")
    keys.type("By keys")
    keys.to("Begin")
    keys.press("Enter")
    expect(page.get_by_role("heading", name="What is hidden", level=1)).to_be_visible()
    drill_id = page.url.rpartition("/")[2].partition("?")[0]
    keys.to("Ground")
    keys.press("Enter")
    pressed(keys, "Draw the boundary")
    keys.press("-", "Space")
    said(page, "Put at [0-9.]+ m east, 30 m north")
    for way in ("ArrowRight", "ArrowUp", "ArrowLeft"):
        keys.press(way, way, way, f"Shift+{way}", "Space")
    keys.press("Space", "Backspace", "Enter")
    saved(page)
    assert len(kept(visited, drill_id)["site"]["boundary_m"]) == 4
    keys.to("Corner 4 of")
    keys.press("Enter")
    said(page, "Corner 5 added")
    keys.to("Corner 5 of")
    keys.press("ArrowUp", "ArrowUp")
    said(page, "Corner 5: now")
    keys.press("Delete")
    said(page, "Corner 5 removed")
    keys.on("Corner 4 of")
    pressed(keys, "Leave ground out")
    keys.press(
        "ArrowLeft", "Space", "ArrowRight", "ArrowDown", "Space", "ArrowUp", "ArrowUp", "Space", "Enter"
    )
    for what in ("Add an anchor", "Set the entry", "Set last seen"):
        pressed(keys, what)
        keys.press("ArrowLeft", "Space")
        said(page, "Put at")
        keys.press("ArrowDown")
    keys.to("last seen,")
    keys.press("ArrowUp")
    said(page, "last seen: now")
    saved(page)
    site = kept(visited, drill_id)["site"]
    assert len(site["holes_m"][0]) == 3
    assert len(site["anchors"]) == 1
    assert site["last_seen_m"]
    keys.press("Delete")
    saved(page)
    assert kept(visited, drill_id)["site"]["last_seen_m"] is None
    assert keys.lost == []


def test_contract_a_burial_is_hidden_moved_turned_and_heard_by_keys_alone(visit: Visiting) -> None:
    visited = visit()
    drill_id = new_drill(visited.site, burials=[])
    page = visited.open(f"/drills/{drill_id}?part=burials")
    keys = Keys(page)
    pressed(keys, "Hide one more")
    keys.press("Space")
    said(page, "Put at")
    keys.to("Burial A,")
    keys.press("ArrowUp", "Shift+ArrowLeft")
    said(page, "Burial A: now")
    keys.to("Direction of the antenna")
    keys.press("ArrowRight")
    keys.to("Tilt of the antenna")
    keys.press("ArrowUp")
    saved(page)
    hidden = kept(visited, drill_id)["burials"]
    keys.to("Undo")
    while page.get_by_role("button", name="Undo", exact=True).is_enabled():
        keys.press("Enter")
    said(page, "Undone: ")
    keys.on("Redo")
    saved(page)
    assert kept(visited, drill_id)["burials"] == []
    while page.get_by_role("button", name="Redo", exact=True).is_enabled():
        keys.press("Enter")
    said(page, "Redone: ")
    keys.on("Undo")
    saved(page)
    assert kept(visited, drill_id)["burials"] == hidden
    keys.to("Hearing")
    keys.press("Enter")
    keys.to("Plan of the drill", back=True)
    keys.press("ArrowLeft", "+", "Enter")
    expect(page.get_by_text(re.compile("along the line|not heard"))).to_be_visible()
    said(page, "of the origin")
    keys.to("hearing")
    keys.press("Space")
    expect(page.get_by_role("checkbox", name="hearing")).not_to_be_checked()
    keys.to("Burial A,", back=True)
    keys.press("Delete")
    keys.on("Plan of the drill")
    assert keys.lost == []


def test_contract_a_rehearsal_and_a_replay_run_by_keys_alone(visit: Visiting) -> None:
    visited = visit()
    page = visited.open(f"/drills/{new_drill(visited.site)}?part=rehearsal")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    keys = Keys(page)
    keys.to("Runs|How many")
    keys.type("20")
    keys.to("Rehearse")
    keys.press("Enter")
    expect(page.get_by_role("button", name="Rehearse again")).to_be_visible(timeout=180_000)
    keys.on("Rehearse again|Cancel|")
    keys.to("Next: ")
    keys.press("Enter")
    keys.on("Is everything|What")
    page.goto(f"{visited.site}/runs/demo-run?step=debrief")
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    keys.to("Play")
    keys.press("Enter")
    keys.on("Pause")
    keys.press("Enter")
    keys.to("Moment|Time")
    keys.press("ArrowRight", "End", "Home")
    keys.press("n", "n")
    expect(page.get_by_role("status").filter(has_text="2 of ")).to_have_count(1)
    keys.to(r"1\D")
    keys.press("Enter")
    expect(page.get_by_role("status").filter(has_text="1 of ")).to_have_count(1)
    assert keys.lost == []


@pytest.mark.parametrize(
    ("part", "first", "delete", "then"),
    [
        ("ground", "Corners and places", "Boundary 4: remove it", "Boundary 3: add a corner"),
        ("burials", "A$", "Remove A", "B$"),
        ("group", "Ines", "Leave Ines out", "Bram"),
    ],
)
def test_contract_what_is_deleted_leaves_the_focus_to_its_neighbour(
    visit: Visiting, part: str, first: str, delete: str, then: str
) -> None:
    visited = visit()
    page = visited.open(f"/drills/{new_drill(visited.site)}?part={part}")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    keys = Keys(page)
    keys.to(first)
    keys.press("Enter")
    keys.to(delete)
    keys.press("Enter")
    keys.on(then)
    assert keys.lost == []


def test_contract_without_dragging_the_sheet_is_moved_by_presses(visit: Visiting) -> None:
    visited = visit()
    page = visited.open(f"/drills/{new_drill(visited.site)}?part=burials")
    mark = page.get_by_role("button", name="Burial A,").locator("rect")
    page.get_by_role("button", name="Zoom in").click()
    x, y = middle(mark)
    page.get_by_role("button", name="Look further east").click()
    page.get_by_role("button", name="Look further north").click()
    to_x, to_y = middle(mark)
    assert to_x < x - 50
    assert to_y > y + 50
    page.get_by_role("button", name="Whole ground").click()
    expect(page.get_by_role("group", name="Move the sheet")).to_have_count(0)
