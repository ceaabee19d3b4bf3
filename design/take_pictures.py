"""Take docs/pictures/drill.png and debrief.png: pages of the demo in headless Chromium.

Run beside `make demo`, with the address it printed: python design/take_pictures.py http://127.0.0.1:8457/
"""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

FLAGS = (
    "--no-sandbox --disable-gpu --disable-background-networking --disable-component-update --disable-sync "
    "--no-first-run --disable-quic"
).split(" ")
PAGES = {"drill": "drills/demo-drill?part=hearing", "debrief": "runs/demo-run"}
SETTLE_MS = 15_000
"""Long enough for the first hearing map on a machine. Setting."""


def take(address: str, folder: Path) -> None:
    """Write a picture of each page as a laptop shows it, 1280 by 800."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 800}, locale="en-GB")
        for name, path in PAGES.items():
            page.goto(address + path)
            page.wait_for_timeout(SETTLE_MS)
            page.screenshot(path=folder / f"{name}.png")
        browser.close()


if __name__ == "__main__":
    take(sys.argv[1], Path(__file__).parents[1] / "docs" / "pictures")
