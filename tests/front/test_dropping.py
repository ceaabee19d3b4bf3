"""Any file dropped anywhere on the app is accepted, or the app says where it belongs; the browser stays on its page."""

from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

import coldfield.app
from accessibility import axe
from drill_records import asked, new_drill
from drops import PREVENTED, dropped
from visiting import LAPTOP, PHONE, Visiting

DRILL = json.loads((Path(coldfield.app.__file__).parent / "demo/drill.json").read_text())
PAGES = ("/", "/drills", "/drills?new=", "/drills?share=", "/runs", "/runs/demo-run?step=debrief", "/courses",
         "/people", "/kit", "/runs/demo-run?step=debrief&view=wall", "/nowhere")  # fmt: skip


def told(page: Page, words: str) -> None:
    expect(page.get_by_role("region", name="The file you dropped")).to_contain_text(words)


def drill_file(**changes: Any) -> bytes:
    return json.dumps({**deepcopy(DRILL), **changes}).encode()


@pytest.mark.parametrize("path", PAGES)
def test_regression_no_page_lets_the_browser_leave_it_for_a_file(visit: Visiting, path: str) -> None:
    visited = visit()
    visited.troubled = path == "/nowhere"
    page = visited.open(path)
    expect(page.locator("main h1, main .wall, main h2").first).to_be_visible()
    address = page.url.partition("#")[0]  # a debrief writes its state there
    dropped(page, ("diary.txt", b"dear diary"), at="body")
    told(page, "Coldfield cannot use diary.txt")
    assert page.url.partition("#")[0] == address
    page.keyboard.press("Escape")
    expect(page.get_by_role("region", name="The file you dropped")).to_have_count(0)


def test_regression_text_and_links_dropped_beside_a_field_stay_out(visit: Visiting) -> None:
    page = visit().open("/drills?new=")
    expect(page.get_by_label("What is it called?")).to_be_visible()
    held = page.evaluate_handle(
        "() => { const data = new DataTransfer(); data.setData('text/uri-list', 'http://127.0.0.1:9/');"
        " return data }"
    )
    assert page.evaluate(PREVENTED, [held, "h1"]) == [True, True]
    assert page.evaluate(PREVENTED, [held, "input[type=text]"]) == [False, False]


@pytest.mark.parametrize("path", ["/", "/runs/demo-run?step=tracks", "/people", "/drills?share="])
def test_contract_the_drill_file_of_the_readme_becomes_a_drill_from_any_page(
    fresh_site: str, visit: Visiting, demo_files: Path, path: str
) -> None:
    page = visit(fresh_site).open(path)
    expect(page.locator("main h1").first).to_be_visible()
    content = (demo_files / "drill.json").read_bytes()
    before = len(asked(fresh_site, "drills")["items"])
    dropped(page, ("drill.json", content))
    page.wait_for_url("**/drills/*")
    name = json.loads(content)["name"]
    # Its page is shown, not only the notice about it.
    expect(page.get_by_label("Name of the drill")).to_have_value(name)
    drill_id = page.url.rpartition("/")[2].partition("?")[0]
    assert asked(fresh_site, f"drills/{drill_id}")["document"]["burials"] == json.loads(content)["burials"]
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    page.wait_for_url("**/drills")
    assert len(asked(fresh_site, "drills")["items"]) == before


def test_contract_a_drill_file_with_faults_is_told_them_all_and_nothing_is_kept(
    fresh_site: str, visit: Visiting
) -> None:
    visited = visit(fresh_site, locale="de-CH")
    visited.troubled = True  # the browser reports each refusal, and refusals are expected here
    page = visited.open("/drills?new=")
    before = asked(fresh_site, "drills")
    bad = deepcopy(DRILL)
    bad["burials"][0]["depth_m"] = 0
    bad["searchers"][1]["receiver"]["antennas"] = 7
    bad["site"]["entri_m"] = bad["site"].pop("entry_m")
    page.locator("input[type=file][accept='.json']").set_input_files(
        {"name": "bowl.json", "mimeType": "", "buffer": json.dumps(bad).encode()}
    )
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("bowl.json kann keine Übung werden")
    for place in (
        "burials[0].depth_m: ",
        "searchers[1].receiver.antennas: ",
        "site.entry_m: ",
        "site.entri_m: ",
    ):
        expect(alert).to_contain_text(f"bowl.json: {place}")
    assert asked(fresh_site, "drills") == before
    dropped(page, ("cut.json", json.dumps(bad).encode()[:300]), at="h1")
    expect(alert).to_contain_text("kein JSON")
    assert asked(fresh_site, "drills") == before


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("splits.csv", b"time,split\n", "Open the run"),
        ("ines.gpx", b"<gpx><trk><trkseg><trkpt lat='1' lon='2'><time>x</time></trkpt></trkseg></trk></gpx>",
         "recorded track"),
        ("ground.geojson", b'{"type": "Polygon", "coordinates": []}', "Open the drill"),
        ("grid.asc", b"ncols 3\n", "elevation grid"),
    ],
)  # fmt: skip
def test_contract_what_needs_a_run_or_a_drill_says_so_and_leads_there(
    visit: Visiting, name: str, content: bytes, words: str
) -> None:
    page = visit().open("/people")
    expect(page.locator("main h1")).to_be_visible()
    dropped(page, (name, content))
    told(page, words)
    assert page.url.endswith("/people")
    page.get_by_role("region", name="The file you dropped").get_by_role("link").click()
    expect(page).not_to_have_url("/people")
    expect(page.get_by_role("region", name="The file you dropped")).to_have_count(0)


def test_contract_a_run_takes_tracks_and_splits_on_any_of_its_steps(
    fresh_site: str, visit: Visiting, demo_files: Path
) -> None:
    page = visit(fresh_site).open("/runs/demo-run?step=run")
    expect(page.get_by_role("heading", name="Who searched, and when?")).to_be_visible()
    track = (demo_files / "tracks" / "ines.gpx").read_bytes()
    dropped(page, ("someone.gpx", track + b"<!-- another copy -->"))
    expect(page.locator("ul.tracks > li", has_text="someone.gpx")).to_be_visible()
    assert "step=tracks" in page.url
    dropped(page, ("mine.csv", (demo_files / "splits.csv").read_bytes()), at="h1")
    expect(page.get_by_role("button", name="Keep these", exact=False)).to_be_visible()
    assert "step=splits" in page.url


def test_contract_a_drill_takes_its_ground_and_its_elevation_grid(visit: Visiting, site: str) -> None:
    drill_id = new_drill(site)
    page = visit().open(f"/drills/{drill_id}?part=burials")
    expect(page.locator("[data-sheet]")).to_be_visible()
    origin = DRILL["site"]["origin"]
    west, south = origin["longitude_deg"], origin["latitude_deg"]
    ring = [[west, south], [west + 0.001, south], [west + 0.001, south + 0.0006], [west, south]]
    dropped(page, ("bowl.geojson", json.dumps({"type": "Polygon", "coordinates": [ring]}).encode()))
    expect(page.get_by_role("status").get_by_role("button", name="Undo")).to_be_visible()
    assert "part=ground" in page.url


def test_contract_a_new_drill_takes_the_ground_that_is_dropped_beside_its_form(visit: Visiting) -> None:
    page = visit().open("/drills?new=")
    expect(page.get_by_role("button", name="Begin")).to_be_visible()
    dropped(page, ("bowl.geojson", b'{"type": "Polygon", "coordinates": []}'), at="h1")
    expect(page.get_by_text("The ground comes from bowl.geojson.")).to_be_visible()


def test_contract_records_from_another_laptop_are_looked_into_from_any_page(
    fresh_site: str, visit: Visiting
) -> None:
    import urllib.request

    with urllib.request.urlopen(f"{fresh_site}/api/export", timeout=20) as answer:
        archive = answer.read()
    page = visit(fresh_site).open("/kit")
    expect(page.locator("main h1")).to_be_visible()
    dropped(page, ("all.zip", archive))
    expect(page.get_by_text("Everything in all.zip is here already.")).to_be_visible()


def test_contract_each_of_several_files_goes_where_it_belongs(visit: Visiting) -> None:
    page = visit().open("/runs/demo-run?step=splits")
    expect(page.get_by_role("button", name="Choose a CSV")).to_be_visible()
    dropped(
        page,
        ("one.csv", b"time,split\n2026-02-14T09:30:00Z,alarm\n"),
        ("two.csv", b"time,split\n2026-02-14T09:31:00Z,alarm\n"),
        ("empty.gpx", b""),
        ("diary.txt", b"dear diary"),
    )
    expect(page.get_by_role("table", name="one.csv")).to_be_visible()
    told(page, "one.csv was taken, two.csv was not")
    told(page, "empty.gpx is empty")
    told(page, "Coldfield cannot use diary.txt")


def test_contract_a_file_in_the_wrong_dashed_box_still_finds_its_place(visit: Visiting) -> None:
    page = visit().open("/runs/demo-run?step=splits")
    expect(page.get_by_role("button", name="Choose a CSV")).to_be_visible()
    dropped(page, ("grid.asc", b"ncols 3\n"), at=".file .screen-only")
    told(page, "elevation grid")


@pytest.mark.parametrize("options", [
    {"viewport": LAPTOP},
    {"viewport": PHONE, "has_touch": True, "color_scheme": "dark", "locale": "de-CH"},
])  # fmt: skip
def test_published_axe_finds_nothing_in_what_is_said_of_a_drop(
    visit: Visiting, options: dict[str, Any]
) -> None:
    page = visit(**options).open("/drills?new=")
    expect(page.locator("main form")).to_be_visible()
    dropped(page, ("diary.txt", b"x"), ("splits.csv", b"time,split\n"), at="h1")
    panel = page.locator("section.said")
    expect(panel).to_be_focused()
    assert axe(page) == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_contract_the_page_about_the_service_says_where_a_file_goes(visit: Visiting) -> None:
    page = visit().open("/service")
    address = page.url
    expect(page.get_by_text("This page takes no files")).to_be_hidden()
    dropped(page, ("diary.txt", b"dear diary"))
    expect(page.get_by_role("status")).to_contain_text(
        "Drop the file in the app: it shows where the file goes"
    )
    assert page.url == address
