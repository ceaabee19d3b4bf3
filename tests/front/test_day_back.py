"""A run timed on two phones without network, brought back by dropping their files, ends as one record."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from clock_visits import hosted, opened, quiet_page, split
from drill_records import asked, new_drill
from drops import dropped
from visiting import PHONE, Visiting

Phone = Callable[..., Page]


@pytest.fixture(scope="module")
def host(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with hosted(tmp_path_factory.mktemp("clock")) as address:
        yield address


@pytest.fixture
def phone(browser: Browser, host: str) -> Iterator[Phone]:
    trouble: list[str] = []
    contexts: list[BrowserContext] = []

    def opening() -> Page:
        options: dict[str, Any] = {"viewport": PHONE, "has_touch": True, "locale": "en-GB"}
        contexts.append(browser.new_context(**options))
        page = quiet_page(contexts[-1], trouble)
        page.goto(host)
        return page

    yield opening
    for context in contexts:
        context.close()
    assert trouble == []


def saved(page: Page) -> bytes:
    page.evaluate("location.hash = 'back'")
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save as a file").click()
    return Path(saving.value.path()).read_bytes()


def test_contract_two_phones_without_network_end_as_one_run(visit: Visiting, phone: Phone) -> None:
    visited = visit()
    app = visited.open(f"/drills/{new_drill(visited.site)}")
    with app.expect_download() as saving:
        app.get_by_role("link", name="Take to the phone").click()
    carried = Path(saving.value.path())
    phones = [phone(), phone()]
    for page in phones:
        page.locator("input[type=file]").set_input_files(
            {"name": "run.coldfield-day.txt", "mimeType": "text/plain", "buffer": carried.read_bytes()}
        )
        expect(page.get_by_role("button", name="Alarm", exact=True)).to_be_visible()
        page.context.set_offline(True)
    for page in phones:
        page.get_by_role("button", name="Alarm", exact=True).click()
    first, second = phones
    split(first, "first signal")
    opened(second, "What you see")
    second.get_by_role("button", name="leader named").click()
    files = [saved(page) for page in phones]

    dropped(app, ("second.coldfield-day.txt", files[1]))
    expect(app.get_by_role("heading", name="From the phones")).to_be_visible()
    assert re.search(r"/runs/[^/]+\?step=splits", app.url)
    run_id = app.url.split("/runs/")[1].split("?")[0]
    dropped(app, ("first.coldfield-day.txt", files[0]))
    expect(app.get_by_role("table", name="Phones that kept time").get_by_role("row")).to_have_count(3)
    dropped(app, ("first.coldfield-day.txt", files[0]))
    expect(app.get_by_text("0 new entries, 2 were here already")).to_be_visible()
    splits = asked(visited.site, f"splits?run_id={run_id}")["items"]
    assert sorted(one["split"] for one in splits) == ["alarm", "first_signal"]
    seen = asked(visited.site, f"observations?run_id={run_id}")["items"]
    assert [one["about"] for one in seen] == ["leader_named"]
    dropped(app, ("cut.coldfield-day.txt", files[0][:-60]))
    expect(app.get_by_role("alert").filter(has_text="not whole")).to_contain_text("cut short")
