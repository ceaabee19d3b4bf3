"""A searcher uses a set of the kit as receiver and gets its range on record."""

from __future__ import annotations

import json
import re
import urllib.request

from playwright.sync_api import expect

from accessibility import axe
from drill_records import asked, new_drill, stored
from visiting import Visiting, saved


def keep(site: str, address: str, told: object) -> None:
    headers = {"content-type": "application/json"}
    request = urllib.request.Request(site + address, json.dumps(told).encode(), headers, method="PUT")
    urllib.request.urlopen(request).close()


def test_contract_a_receiver_comes_from_the_kit_with_its_range_and_antennas(visit: Visiting) -> None:
    visited = visit()
    drill_id = new_drill(visited.site)
    told = {"kit_id": "hl-03", "held": "2025-11-20", "coaxial_m": [33.0, 34.0, 35.0], "antennas": 2}
    keep(visited.site, "/api/range_tests/group-test", told)
    unmeasured = {"kind": "set", "label": "HL-90", "owner_id": "ines", "serial": "S-90"}
    keep(visited.site, "/api/kit/hl-90", unmeasured)
    page = visited.open(f"/drills/{drill_id}?part=group")
    page.get_by_role("button", name="Ines", exact=True).click()
    which = page.get_by_label("Which set")
    expect(which.locator("option").nth(1)).to_have_text("HL-01 · Ines")
    expect(which.locator("option").nth(2)).to_have_text("HL-90 · Ines")
    reach = page.get_by_role("textbox", name="Hears a set on the axis at", exact=True)

    which.select_option("HL-03")
    expect(page.get_by_text("HL-03 hears 34 m by its newest range test, 20 November 2025.")).to_be_visible()
    expect(reach).to_have_value(re.compile(r"^34(\.0)?$"))
    saved(page)
    ines = stored(visited.site, drill_id)["document"]["searchers"][0]
    assert ines["set"] == "HL-03"
    assert ines["receiver"]["coaxial_range_m"] == 34.0
    assert ines["receiver"]["antennas"] == 2
    reach.fill("30")
    reach.press("Enter")
    page.get_by_role("button", name="Take 34 m").click()
    expect(reach).to_have_value(re.compile(r"^34(\.0)?$"))

    which.select_option("HL-90")
    expect(page.get_by_text("No range of HL-90 is on record")).to_be_visible()
    expect(reach).to_have_value(re.compile(r"^34(\.0)?$"))
    page.get_by_role("button", name="Save this range with HL-90").click()
    expect(page.get_by_text("HL-90 hears 34 m by its figures in the kit")).to_be_visible()
    kept = asked(visited.site, "kit/hl-90")
    assert (kept["figures"]["coaxial_range_m"], kept["serial"]) == (34.0, "S-90")
    assert axe(page) == []

    page.get_by_role("button", name="Bram", exact=True).click()
    expect(page.get_by_label("Which set").locator("option[value='HL-90']")).to_be_disabled()
