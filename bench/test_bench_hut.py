"""How long a phone in the hut takes to open the clock for the first time, on loopback."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from goal import against_goal
from visiting import CHROMIUM, FLAGS, HEADLESS, PHONE, served_here

GOAL_S = 1.0
ROUNDS = 5


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as driver:
        chromium = driver.chromium.launch(
            executable_path=HEADLESS if HEADLESS.exists() else CHROMIUM, args=FLAGS
        )
        yield chromium
        chromium.close()


def opened_s(browser: Browser, site: str) -> float:
    """Open the clock in a window without a cache; return the time until its first button, s."""
    context = browser.new_context(viewport=PHONE, locale="en-GB")
    page = context.new_page()
    start = time.perf_counter()
    page.goto(f"{site}/clock", wait_until="commit")
    page.get_by_role("button", name="New run").wait_for()
    took = time.perf_counter() - start
    context.close()
    return took


def test_first_open_of_the_clock(browser: Browser, tmp_path: Path) -> None:
    open_sqlite(Folder(tmp_path)).close()
    with served_here(tmp_path) as site:
        opened_s(browser, site)
        times = sorted(opened_s(browser, site) for _ in range(ROUNDS))
    against_goal(f"the clock opened for the first time (middle of {ROUNDS})", times[ROUNDS // 2], GOAL_S)
    print(f"    from {times[0]:.2f} to {times[-1]:.2f} s")
