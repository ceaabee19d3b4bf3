"""A drill given to a colleague, and what they do with it; all records moved to another laptop."""

from __future__ import annotations

import re
import urllib.request
import zipfile
from pathlib import Path

from playwright.sync_api import Page, expect

from accessibility import axe
from drill_records import asked, new_drill
from example_records import GRID
from visiting import PHONE, Visiting


def brought(page: Page, file: Path) -> None:
    page.get_by_label("Zip file").set_input_files(file)
    expect(page.get_by_text("and not here yet")).to_be_visible()
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_text("Brought in from").first).to_be_visible()


def test_contract_a_drill_is_handed_on_and_brought_in_on_another_laptop(
    empty_site: str, visit: Visiting, tmp_path: Path
) -> None:
    page = visit().open("/drills?find=Two+in+the+lower+bowl")
    with page.expect_download() as loading:
        page.get_by_role("link", name=re.compile("^Export Two in the lower bowl with its runs")).first.click()
    loading.value.save_as(tmp_path / "fan.zip")
    other = visit(empty_site).open("/drills")
    other.get_by_role("button", name="Bring in, take along").click()
    brought(other, tmp_path / "fan.zip")
    assert axe(other) == []
    other.get_by_role("main").get_by_role("link", name="Two in the lower bowl").click()
    expect(other.get_by_role("application")).to_be_visible()
    other.goto(f"{empty_site}/people")
    expect(other.get_by_role("heading", level=1)).to_be_visible()
    expect(other.get_by_text("Ines")).to_have_count(0)
    other.goto(f"{empty_site}/drills?share=")
    other.get_by_label("Zip file").set_input_files(tmp_path / "fan.zip")
    expect(other.get_by_text("Everything in fan.zip is here already.")).to_be_visible()


def test_contract_everything_goes_to_another_laptop_from_its_first_start(
    empty_site: str, visit: Visiting, tmp_path: Path
) -> None:
    page = visit().open("/drills?share=")
    with page.expect_download() as loading:
        page.get_by_role("link", name="Everything as a zip").click()
    loading.value.save_as(tmp_path / "all.zip")
    other = visit(empty_site, viewport=PHONE).open("/")
    brought(other, tmp_path / "all.zip")
    assert axe(other) == []
    other.goto(f"{empty_site}/people")
    expect(other.get_by_text("Ines")).to_be_visible()


def test_contract_what_cannot_be_brought_in_is_told_and_changes_nothing(
    empty_site: str, visit: Visiting, tmp_path: Path
) -> None:
    with zipfile.ZipFile(tmp_path / "other.zip", "w") as archive:
        archive.writestr("readme.txt", "nothing of ours")
    visited = visit(empty_site, locale="de-DE")
    visited.troubled = True  # the refusal is in the browser's console
    page = visited.open("/drills?share=")
    page.get_by_label("Zip-Datei").set_input_files(tmp_path / "other.zip")
    expect(page.get_by_text("lässt sich nicht hereinholen. Nichts wurde geändert")).to_be_visible()
    expect(page.get_by_text("enthält kein manifest.json; eine Zip-Datei wählen")).to_be_visible()
    expect(page.get_by_role("button", name="Hereinholen", exact=True)).to_have_count(0)


def test_contract_a_copied_drill_brings_its_elevation_grid(visit: Visiting) -> None:
    visited = visit()
    drill_id = new_drill(visited.site, name="On a grid")
    under = f"{visited.site}/api/drills/{drill_id}/grids/grid-of-it?file_name=bowl.asc&crs=site"
    urllib.request.urlopen(urllib.request.Request(under, data=GRID, method="PUT"), timeout=20).close()
    page = visited.open("/drills")
    with page.expect_response(lambda one: one.request.method == "PUT" and "/grids/" in one.url):
        page.get_by_role("button", name="Copy On a grid").click()
    expect(page.get_by_role("link", name="On a grid (copy)", exact=True)).to_be_visible()
    drills = asked(visited.site, "drills?limit=500")["items"]
    (copy,) = (one["id"] for one in drills if one["name"] == "On a grid (copy)")
    (grid,) = asked(visited.site, f"grids?drill_id={copy}")["items"]
    assert (grid["file_name"], grid["crs"]) == ("bowl.asc", "site")
    with urllib.request.urlopen(f"{visited.site}/api/grids/{grid['id']}/file", timeout=20) as file:
        assert file.read() == GRID
