"""What needs only a few presses: a rehearsed new drill, finding anything by one key, a chart's values."""

from __future__ import annotations

import csv
import io
import re

from playwright.sync_api import Locator, expect

from clipboard import CLIPBOARD, copied, copied_picture
from drill_records import asked
from visiting import Visiting, saved

MOST_PRESSES = 7
LONG_MS = 120_000


class Presses:
    """Counts presses of the pointer."""

    def __init__(self) -> None:
        self.made = 0

    def __call__(self, thing: Locator) -> None:
        thing.click()
        self.made += 1


def test_contract_from_nothing_to_a_rehearsed_drill_in_a_few_presses(
    empty_site: str, visit: Visiting
) -> None:
    page = visit(empty_site).open("/")
    press = Presses()
    press(page.get_by_label("What is it called?"))
    page.keyboard.type("Two on the lower fan")
    press(page.get_by_role("button", name="Begin the drill"))
    press(page.get_by_role("button", name="Put it in the middle"))
    expect(page.get_by_text("eight of ten:", exact=False).first).to_be_visible(timeout=LONG_MS)
    press(page.get_by_role("link", name="Rehearsal"))
    press(page.get_by_role("button", name="Rehearse", exact=True))
    expect(page.get_by_role("heading", name="Minutes to each airway")).to_be_visible(timeout=LONG_MS)
    assert press.made <= MOST_PRESSES
    saved(page)
    (drill,) = asked(empty_site, "drills")["items"]
    assert len(asked(empty_site, f"drills/{drill['id']}")["document"]["burials"]) == 1


def test_contract_anything_is_found_with_one_key(visit: Visiting) -> None:
    page = visit().open("/kit")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    page.keyboard.press("/")
    field = page.get_by_role("combobox", name="Find anything")
    expect(field).to_be_focused()
    page.keyboard.press("Escape")
    expect(field).to_be_hidden()
    page.keyboard.press("Control+k")
    page.keyboard.type("INÈS")
    expect(page.get_by_role("option", name=re.compile("Ines")).first).to_be_visible()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/people/ines$"))
    expect(page.get_by_role("heading", level=1, name=re.compile("Ines"))).to_be_visible()
    # Within a field the same key is a letter.
    page.get_by_role("textbox").first.press("/")
    expect(field).to_be_hidden()


def test_contract_a_chart_tells_its_values_to_keys_and_is_copied_as_picture_and_figures(
    visit: Visiting,
) -> None:
    name = "when each set is on"
    page = visit(permissions=CLIPBOARD).open("/drills/demo-drill?part=hearing")
    values = page.get_by_role("slider", name=f"Values: {name}")
    values.focus()
    page.keyboard.press("Home")
    expect(values).to_have_attribute("aria-valuetext", re.compile(r"^[AB], .*\ss: (comes through|hidden by)"))
    copied(page, "Copy data (CSV)", name)
    head, *rows = csv.reader(io.StringIO(page.evaluate("navigator.clipboard.readText()")))
    assert head == ["burial", "from_s", "to_s", "hidden_by"]
    assert {row[0] for row in rows} == {"A", "B"}
    assert int(values.get_attribute("aria-valuemax") or 0) == len(rows) - 1
    copied(page, "Copy picture", name)
    shown = copied_picture(page)
    box = values.bounding_box()
    assert box is not None
    assert shown.width > 1.5 * box["width"]
    assert len(shown.getcolors(1 << 20) or []) > 10
