"""A hut's day in browsers: shared from the page, codes made and scanned, a phone's day and track sent and taken back."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from playwright.sync_api import Browser, Page, expect

from accessibility import axe
from clock_visits import quiet_page, split
from code_camera import read, seen
from drill_records import asked
from example_records import DRILL, GPX
from huts import PASSPHRASE
from visiting import PHONE, Visiting

RUN = "run-in-the-hut"


def shared(page: Page, site: str) -> None:
    """Share the service from its own page, on this machine's address."""
    page.goto(f"{site}/service")
    page.get_by_label("Address of this machine in that network").fill("127.0.0.1")
    page.get_by_label("Passphrase for the other instructors").fill(PASSPHRASE)
    page.get_by_role("button", name="Start sharing").click()
    expect(page.get_by_text("Shared at")).to_be_visible()


def scanned(page: Page, make: str, number: int) -> str:
    """Make a code on the page of the run, and read it as a camera would; returns the address in it."""
    page.get_by_role("button", name=make).click()
    code = page.get_by_role("img", name=f"Code {number}, to open with the phone's camera")
    expect(code).to_be_visible()
    picture = cv2.imdecode(np.frombuffer(code.screenshot(scale="css"), np.uint8), cv2.IMREAD_GRAYSCALE)
    squares = int((code.get_attribute("viewBox") or "").split()[-1])
    return read(seen(np.asarray(picture), squares=squares))


def test_contract_phones_send_a_day_and_a_track_by_scanned_codes_and_it_is_taken_back(
    browser: Browser, empty_site: str, visit: Visiting, tmp_path: Path
) -> None:
    asked(empty_site, "drills/fan", {"document": DRILL})
    told = {"drill_id": "fan", "drill_version": 1, "held_utc": "2026-02-14T12:00:00Z", "name": "In the hut"}
    asked(empty_site, f"runs/{RUN}", told)
    laptop = visit(empty_site).open("/")
    shared(laptop, empty_site)
    laptop.goto(f"{empty_site}/runs/{RUN}?step=run")
    clock = scanned(laptop, "Code for the clock", 1)
    expect(laptop.get_by_text("do not let the searchers see it")).to_be_visible()
    assert axe(laptop) == []
    assert "/clock#hut/keeper/" in clock

    trouble: list[str] = []
    phone = quiet_page(browser.new_context(viewport=PHONE, has_touch=True, locale="en-GB"), trouble)
    phone.goto(clock)
    phone.get_by_role("button", name="Alarm", exact=True).click()
    split(phone, "first signal")
    expect(phone.get_by_text("Everything is in the hut.")).to_be_visible()
    assert "hut/keeper" not in phone.url
    assert (axe(phone), phone.evaluate("document.documentElement.scrollWidth - innerWidth")) == ([], 0)

    laptop.get_by_role("link", name="Splits").first.click()
    laptop.reload()
    phones = laptop.get_by_role("table", name="Phones")
    expect(phones.get_by_role("row")).to_have_count(2)
    assert len(asked(empty_site, f"splits?run_id={RUN}")["items"]) == 2
    phones.get_by_role("button", name="Take back all of").click()
    expect(phones.get_by_text("taken back")).to_be_visible()
    assert asked(empty_site, f"splits?run_id={RUN}")["items"] == []
    assert axe(laptop) == []
    phones.get_by_role("button", name="in again").click()
    expect(phones.get_by_text("taken back")).to_have_count(0)
    assert len(asked(empty_site, f"splits?run_id={RUN}")["items"]) == 2

    laptop.goto(f"{empty_site}/runs/{RUN}?step=run")
    tracks = scanned(laptop, "Code for tracks", 2)
    assert "/clock#hut/track/" in tracks
    (tmp_path / "walk.gpx").write_bytes(GPX)
    other = quiet_page(browser.new_context(viewport=PHONE, has_touch=True, locale="en-GB"), trouble)
    other.goto(tracks)
    expect(other.get_by_text("in flight mode and at least 50 cm from every set")).to_be_visible()
    other.get_by_label("Whose track it is").select_option(label="Ines")
    other.get_by_label("Recorded file").set_input_files(tmp_path / "walk.gpx")
    other.get_by_role("button", name="Send it").click()
    expect(other.get_by_text("The track is in the hut.")).to_be_visible()
    assert (axe(other), other.evaluate("document.documentElement.scrollWidth - innerWidth")) == ([], 0)
    (kept,) = asked(empty_site, f"tracks?run_id={RUN}")["items"]
    assert kept["searcher"] == "s1"

    # A withdrawn code accepts nothing more, and the phone keeps its items.
    laptop.get_by_role("button", name="Withdraw code 1").click()
    expect(laptop.get_by_text("Code 1, for the clock")).to_have_count(0)
    phone.get_by_role("button", name="leader named").click()
    expect(phone.get_by_text("no longer accepts this code")).to_be_visible()
    phone.context.close()
    other.context.close()
    # The refused code is in the browser's console as well.
    assert [line for line in trouble if "401" not in line] == []
