"""The drill page as a person works on it: drags, types, undoes, reloads, goes offline, opens a second tab."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Locator, Page, Route, expect

import drill_records
from accessibility import axe
from drill_records import asked, new_drill
from example_records import DRILL
from visiting import PHONE, Visit, Visiting, drag, middle, saved

Drill = Callable[..., str]


@pytest.fixture
def drill(site: str) -> Drill:
    """Keep a new drill in the records; returns its id."""
    return partial(new_drill, site)


def stored(visited: Visit, drill_id: str) -> dict[str, Any]:
    document: dict[str, Any] = drill_records.stored(visited.site, drill_id)["document"]
    return document


def open_part(visited: Visit, drill_id: str, part: str) -> Page:
    page = visited.open(f"/drills/{drill_id}?part={part}")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    return page


def burial(page: Page, name: str) -> Locator:
    return page.get_by_role("button", name=f"Burial {name},")


def mark(page: Page, name: str) -> Locator:
    """Return the mark of a burial: its place, whatever name is beside it."""
    return burial(page, name).locator("circle")


def field(page: Page, name: str) -> Locator:
    return page.get_by_role("textbox", name=name, exact=True)


def test_contract_a_dragged_burial_is_one_step_undone_redone_saved_and_there_after_a_reload(
    visit: Visiting, drill: Drill
) -> None:
    visited = visit()
    drill_id = drill()
    page = open_part(visited, drill_id, "burials")
    drag(page, mark(page, "A"), 60, 40, steps=12)
    expect(field(page, "East")).not_to_have_value("22")
    east, north = (float(field(page, name).input_value()) for name in ("East", "North"))
    assert east > 22
    assert north < 41
    saved(page)
    assert stored(visited, drill_id)["burials"][0]["position_m"] == [east, north]
    page.get_by_role("button", name="Undo").click()
    expect(field(page, "East")).to_have_value("22")
    expect(field(page, "North")).to_have_value("41")
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()
    page.keyboard.press("Control+y")
    expect(field(page, "East")).to_have_value(f"{east:g}")
    saved(page)
    page.reload()
    expect(burial(page, "A")).to_have_accessible_name(re.compile(rf"^Burial A, {east:g}\sm east"))


def test_contract_escape_puts_a_drag_back(visit: Visiting, drill: Drill) -> None:
    page = open_part(visit(), drill(), "burials")
    x, y = middle(mark(page, "A"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 72, y + 42, steps=4)
    expect(field(page, "East")).not_to_have_value("22")
    page.keyboard.press("Escape")
    expect(field(page, "East")).to_have_value("22")
    page.mouse.up()
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()


def test_contract_depth_is_typed_and_what_cannot_be_is_told_and_not_kept(
    visit: Visiting, drill: Drill
) -> None:
    visited = visit()
    drill_id = drill()
    page = open_part(visited, drill_id, "burials")
    page.get_by_role("button", name="A", exact=True).click()
    depth = field(page, "Depth")
    depth.fill("1,35")
    depth.press("Enter")
    expect(page.get_by_role("cell", name="1.35 m")).to_be_visible()
    depth.fill("40")
    depth.press("Tab")
    expect(page.get_by_role("alert")).to_contain_text("from 0.05 to 10")
    saved(page)
    assert stored(visited, drill_id)["burials"][0]["depth_m"] == 1.35
    page.get_by_role("heading", level=1).click()
    page.keyboard.press("Control+z")
    expect(page.get_by_role("cell", name="0.8 m")).to_be_visible()


def test_contract_in_the_middle_means_on_the_ground(visit: Visiting, drill: Drill) -> None:
    visited = visit()
    around = [[-20.0, -20.0], [100.0, -20.0], [100.0, 100.0], [-20.0, 100.0]]
    left_out = [[10.0, 10.0], [70.0, 10.0], [70.0, 70.0], [10.0, 70.0]]
    site = DRILL["site"] | {"boundary_m": around, "holes_m": [left_out], "entry_m": [0.0, 0.0]}
    drill_id = drill(site=site, burials=[])
    page = open_part(visited, drill_id, "burials")
    expect(page.get_by_text("Never bury a person.")).to_be_visible()

    page.get_by_role("button", name="Put it in the middle").click()

    saved(page)
    x, y = stored(visited, drill_id)["burials"][0]["position_m"]
    assert not (10 < x < 70 and 10 < y < 70)


def test_contract_the_antenna_turns_and_tilts_by_its_handles_and_by_keys(
    visit: Visiting, drill: Drill
) -> None:
    visited = visit()
    drill_id = drill()
    page = open_part(visited, drill_id, "burials")
    burial(page, "A").focus()
    turn = page.get_by_role("slider", name="Direction of the antenna of burial A")
    for _ in range(3):
        turn.press("ArrowRight")
    expect(turn).to_have_attribute("aria-valuenow", "55")
    page.get_by_role("slider", name="Tilt of the antenna of burial A").press("Shift+ArrowDown")
    page.get_by_text("Directions in figures").click()
    expect(field(page, "Tilt")).to_have_value("9")
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Undo").click()
    expect(turn).to_have_attribute("aria-valuenow", "40")
    drag(page, turn.locator("circle").first, 0, 80)
    saved(page)
    assert stored(visited, drill_id)["burials"][0]["antenna"]["azimuth_deg"] > 60


def test_contract_a_set_of_the_kit_brings_its_figures_and_takes_new_ones(
    visit: Visiting, drill: Drill
) -> None:
    visited = visit()
    drill_id = drill()
    page = open_part(visited, drill_id, "burials")
    page.get_by_role("button", name="A", exact=True).click()
    page.get_by_label("Which set").select_option("HL-02")
    page.get_by_text("Strength and pulses in figures").click()
    expect(field(page, "Field at 10 m")).to_have_value("1.05")
    expect(page.get_by_role("cell", name="HL-02")).to_be_visible()
    field(page, "Period").fill("0.97")
    field(page, "Period").press("Enter")
    page.get_by_role("button", name="Save these figures with HL-02").click()
    expect(page.get_by_text("saved with HL-02 in the kit", exact=False)).to_be_visible()
    saved(page)
    assert stored(visited, drill_id)["burials"][0]["set"] == "HL-02"
    assert asked(visited.site, "kit/hl-02")["figures"]["period_s"] == 0.97


def test_contract_everything_is_done_with_the_keyboard_alone(visit: Visiting, drill: Drill) -> None:
    visited = visit()
    drill_id = drill(burials=[])
    page = open_part(visited, drill_id, "burials")
    page.get_by_role("button", name="Put it in the middle").press("Enter")
    one = burial(page, "A")
    one.focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp"):
        one.press(key)
    expect(field(page, "East")).to_have_value("32")
    expect(field(page, "North")).to_have_value("40.1")
    page.keyboard.press("Control+z")
    expect(field(page, "East")).to_have_value("30")
    saved(page)
    page.get_by_role("link", name="Ground", exact=True).press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Where do you practise?")
    page.get_by_role("button", name="Leave ground out").press("Enter")
    plan = page.get_by_role("application")
    plan.focus()
    for key in ("0", "+", "+", "+", "+", "Space", "ArrowRight", "Space", "ArrowUp", "Space", "Enter"):
        plan.press(key)
    expect(page.get_by_role("status").filter(has_text="corner after corner")).to_have_count(0)
    saved(page)
    assert len(stored(visited, drill_id)["site"]["holes_m"][0]) == 3
    page.go_back()
    expect(page.get_by_role("heading", level=1)).to_have_text("What is hidden, where and how deep?")


def test_contract_a_corner_is_dragged_put_in_and_taken_out(visit: Visiting, drill: Drill) -> None:
    visited = visit()
    drill_id = drill(burials=[])
    page = open_part(visited, drill_id, "ground")
    expect(page.get_by_text("4,800 m² to search")).to_be_visible()
    corner = page.get_by_role("button", name="Corner 3 of the boundary")
    drag(page, corner.locator("circle"), 0, 50)
    expect(page.get_by_text("4,800 m² to search")).to_be_hidden()
    page.get_by_role("button", name="Undo").click()
    corner.press("Enter")
    expect(page.get_by_role("button", name="Corner 5 of the boundary")).to_have_count(1)
    corner.press("Delete")
    expect(page.get_by_role("button", name="Corner 5 of the boundary")).to_have_count(0)
    drag(page, page.locator(".side circle.grip").first, 0, 40)
    page.get_by_text("Corners and places by numbers").click()
    expect(page.get_by_role("table", name="Boundary: 5 corners")).to_be_visible()
    field(page, "Boundary 1: East").fill("-5")
    field(page, "Boundary 1: East").press("Enter")
    saved(page)
    assert stored(visited, drill_id)["site"]["boundary_m"][0] == [-5, 0]


def test_contract_a_second_tab_sees_the_change_and_two_changes_at_once_are_asked_about(
    visit: Visiting, drill: Drill
) -> None:
    visited = visit()
    visited.troubled = True
    drill_id = drill()
    one = open_part(visited, drill_id, "burials")
    two = open_part(visited, drill_id, "burials")
    burial(one, "A").press("ArrowRight")
    expect(burial(two, "A")).to_have_accessible_name(re.compile(r"^Burial A, 23\sm east"))
    two.route("**/api/drills/*", lambda route: route.abort() if _writes(route) else route.fallback())
    name = two.get_by_role("textbox", name="Name of the drill")
    name.fill("Named in the second tab")
    name.press("Tab")
    expect(two.get_by_text("kept in this browser", exact=False).first).to_be_visible()
    burial(one, "A").press("ArrowRight")
    saved(one)
    two.unroute("**/api/drills/*")
    two.get_by_role("button", name="Take the other").click(timeout=20_000)
    expect(name).to_have_value("Two on the lower fan")
    expect(burial(two, "A")).to_have_accessible_name(re.compile(r"^Burial A, 24\sm east"))
    two.get_by_role("button", name="Undo").click()
    expect(name).to_have_value("Named in the second tab")


def _writes(route: Route) -> bool:
    return route.request.method == "PUT"


def test_contract_what_is_changed_offline_is_saved_later(visit: Visiting, drill: Drill) -> None:
    visited = visit()
    visited.troubled = True
    drill_id = drill()
    page = open_part(visited, drill_id, "burials")
    page.get_by_role("button", name="A", exact=True).click()
    visited.context.set_offline(True)
    page.get_by_role("button", name="1.5 m").click()
    expect(page.get_by_text("Coldfield does not answer.").first).to_be_visible()
    assert stored(visited, drill_id)["burials"][0]["depth_m"] == 0.8
    visited.context.set_offline(False)
    saved(page)
    assert stored(visited, drill_id)["burials"][0]["depth_m"] == 1.5


def test_contract_a_refused_save_says_which_field_and_mends_with_the_next_change(
    visit: Visiting, drill: Drill
) -> None:
    visited = visit()
    visited.troubled = True
    drill_id = drill()
    page = open_part(visited, drill_id, "burials")
    burial(page, "A").press("ArrowLeft")
    east = field(page, "East")
    east.fill("-30")
    east.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text(
        re.compile(r"Burial A: 30\sm west of the ground: drag it inside")
    )
    assert stored(visited, drill_id)["burials"][0]["position_m"] != [-30, 41]
    east.fill("12")
    east.press("Enter")
    saved(page)
    assert stored(visited, drill_id)["burials"][0]["position_m"] == [12, 41]


def boundary_file(tmp_path: Path, ring: list[list[float]]) -> Path:
    path = tmp_path / "bowl.geojson"
    area = {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    place = {"type": "Point", "coordinates": ring[0]}
    cairn = {"type": "Feature", "properties": {"name": "larch"}, "geometry": place}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [area, cairn]}))
    return path


def test_contract_a_boundary_comes_from_a_file_and_a_bad_one_is_told_in_words(
    visit: Visiting, drill: Drill, tmp_path: Path
) -> None:
    visited = visit()
    visited.troubled = True
    drill_id = drill()
    page = open_part(visited, drill_id, "ground")
    chooser = page.get_by_label("Boundary from a file")
    chooser.set_input_files(boundary_file(tmp_path, [[8.1, 61.2], [8.101, 61.2]]))
    expect(page.get_by_role("alert")).to_contain_text("at least 3 corners")
    assert axe(page) == []
    ring = [[8.1001, 61.2001], [8.1018, 61.2001], [8.1018, 61.2012], [8.1001, 61.2012]]
    chooser.set_input_files(boundary_file(tmp_path, ring))
    expect(page.get_by_text("The ground now comes from the file", exact=False)).to_be_visible()
    expect(page.get_by_role("button", name="larch,")).to_be_visible()
    saved(page)
    site = stored(visited, drill_id)["site"]
    assert site["origin"]["latitude_deg"] == 61.2
    assert len(site["boundary_m"]) == 4
    page.get_by_role("button", name="Undo").first.click()
    expect(page.get_by_text("4,800 m² to search")).to_be_visible()


def elevation_file(tmp_path: Path) -> Path:
    """A slope of 12 degrees that faces south, with steep ground 300 m to the north."""
    middle = (np.arange(120) - 60) * 10.0
    height = 1180.0 + np.tan(np.radians(12.0)) * middle + 1.5 * np.clip(middle - 300.0, 0.0, 100.0)
    rows = [" ".join([f"{value:.2f}"] * 120) for value in height[::-1]]
    head = ["ncols 120", "nrows 120", "xllcenter -600", "yllcenter -600", "cellsize 10"]
    path = tmp_path / "bowl.asc"
    path.write_text("\n".join([*head, *rows]))
    return path


def test_contract_an_elevation_grid_warns_is_drawn_and_stays_with_the_drill(
    visit: Visiting, drill: Drill, tmp_path: Path
) -> None:
    visited = visit()
    visited.troubled = True
    page = open_part(visited, drill(), "ground")
    page.get_by_label("Elevation grid").set_input_files(elevation_file(tmp_path))
    expect(page.get_by_text("coordinate system", exact=False).first).to_be_visible()
    page.get_by_role("button", name="It is in metres of the plan").click()
    expect(page.get_by_role("heading", name="Warning: look at this ground again")).to_be_visible()
    expect(page.get_by_text("never a clearance", exact=False).first).to_be_visible()
    assert axe(page) == []
    page.get_by_role("button", name="Use that").click()
    expect(field(page, "Slope")).to_have_value("12")
    page.reload()
    expect(page.get_by_role("heading", name="Warning: look at this ground again")).to_be_visible()
    expect(page.locator("canvas")).to_have_count(1)
    page.get_by_role("button", name="Remove the grid").click()
    expect(page.locator("canvas")).to_have_count(0)
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    expect(page.locator("canvas")).to_have_count(1)


def test_contract_the_group_grows_by_number_and_by_name(visit: Visiting, drill: Drill) -> None:
    visited = visit()
    drill_id = drill()
    page = open_part(visited, drill_id, "group")
    field(page, "People").fill("4")
    field(page, "People").press("Enter")
    page.get_by_role("combobox", name="Somebody else").fill("Yuki")
    page.get_by_role("button", name="Add").click()
    page.get_by_label("Skill").select_option("novice")
    field(page, "Hears a set on the axis at").fill("36")
    field(page, "Hears a set on the axis at").press("Enter")
    page.get_by_label("has a shovel").uncheck()
    assert axe(page) == []
    saved(page)
    searchers = stored(visited, drill_id)["searchers"]
    assert [one["name"] for one in searchers] == ["Ines", "Bram", "Searcher 3", "Searcher 4", "Yuki"]
    assert (searchers[4]["skill"], searchers[4]["shovel"]) == ("novice", False)
    assert searchers[4]["receiver"]["coaxial_range_m"] == 36


def test_published_axe_finds_nothing_to_mend_and_a_phone_has_the_question_first(
    visit: Visiting, drill: Drill
) -> None:
    drill_id = drill()
    for options in ({"color_scheme": "dark", "locale": "de-CH"}, {"viewport": PHONE, "has_touch": True}):
        visited = visit(**options)
        for part in ("ground", "burials"):
            page = open_part(visited, drill_id, part)
            if part == "burials":
                page.locator(".burial[tabindex]").first.focus()
            assert axe(page) == [], (options, part)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            plan, words = page.locator("[data-sheet]").bounding_box(), page.locator("h1").bounding_box()
            assert plan
            assert words
            if "viewport" in options:
                assert words["y"] + words["height"] <= plan["y"]
            page.close()


def test_contract_what_needs_a_set_is_not_done_before_one_is_hidden(visit: Visiting, drill: Drill) -> None:
    page = open_part(visit(), drill(burials=[]), "burials")
    parts = page.get_by_role("navigation", name="Parts of the drill")
    for name in ("Hearing", "Strips", "Rehearsal"):
        expect(parts.get_by_role("link", name=name)).to_have_class(re.compile("look"))
    expect(page.locator(".minutes")).to_have_text(
        "How long will it take? Place a burial first. To the burials"
    )
    page.get_by_role("button", name="Put it in the middle").click()
    expect(parts.get_by_role("link", name="Hearing")).to_have_class(re.compile("done"))


def test_contract_every_part_tells_a_burial_off_the_ground_in_the_words_of_the_plan(
    visit: Visiting, drill: Drill
) -> None:
    visited = visit()
    visited.troubled = True  # what cannot be worked out is refused
    two = [DRILL["burials"][0], {**DRILL["burials"][0], "id": "B", "position_m": [40, 20]}]
    page = open_part(visited, drill(burials=two), "burials")
    page.get_by_role("button", name="A", exact=True).click()
    field(page, "East").fill("300")
    field(page, "East").press("Enter")
    told = "Burial A: 240 m east of the ground: drag it inside."
    parts = page.get_by_role("navigation", name="Parts of the drill")
    for part in ("Hearing", "Strips", "Rehearsal", "Check list"):
        parts.get_by_role("link", name=part).click()
        expect(page.get_by_text(told).first).to_be_visible()
        expect(page.get_by_text("could not be worked out:").filter(has_text="Burial A")).to_have_count(
            1 if part == "Hearing" else 0
        )
        expect(page.get_by_text("position_m")).to_have_count(0)
    parts.get_by_role("link", name="Hearing").click()
    page.get_by_role("button", name="Undo").first.click()
    expect(page.get_by_text(told)).to_have_count(0)
    expect(page.get_by_text("could not be worked out")).to_have_count(0)


def test_contract_a_finger_drags_a_burial_on_a_phone(visit: Visiting, drill: Drill) -> None:
    visited = visit(viewport=PHONE, has_touch=True, is_mobile=True)
    drill_id = drill()
    page = open_part(visited, drill_id, "burials")
    expect(page.locator("[data-settled=true]")).to_be_visible()  # its text changes the height of the page
    mark(page, "A").scroll_into_view_if_needed()
    x, y = middle(mark(page, "A"))
    client = visited.context.new_cdp_session(page)
    for kind, dx in (("touchStart", 0), ("touchMove", 12), ("touchMove", 30), ("touchEnd", None)):
        points = [] if dx is None else [{"x": x + dx, "y": y}]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    expect(field(page, "East")).not_to_have_value("22")
    saved(page)
    assert stored(visited, drill_id)["burials"][0]["position_m"][0] > 22


def test_contract_a_drag_keeps_up_with_the_pointer(visit: Visiting, drill: Drill) -> None:
    # The goal is 20 frames a second: 60 moves of the pointer, each drawn, take less than 3 s.
    walked = [
        [60 + 55 * np.cos(t), 60 + 55 * np.sin(t)] for t in np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    ]
    site = {**DRILL["site"], "boundary_m": np.round(walked, 2).tolist(), "entry_m": [60, 10]}
    page = open_part(visit(), drill(site=site), "burials")
    x, y = middle(mark(page, "A"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.evaluate(
        """() => {
          window.frames_ms = []
          let last = performance.now()
          const tick = (now) => { window.frames_ms.push(now - last); last = now; requestAnimationFrame(tick) }
          requestAnimationFrame(tick)
        }"""
    )
    page.mouse.move(x + 102, y + 42, steps=60)
    page.mouse.up()
    frames = page.evaluate("window.frames_ms.slice(1)")
    assert np.median(frames) < 50, frames
