"""Take docs/pictures/debrief.png: the demo's debrief page in headless Chromium.

Run after `make demo`: python design/take_pictures.py coldfield-demo/debrief.html
"""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

FLAGS = (
    "--no-sandbox --disable-gpu --disable-background-networking --disable-component-update --disable-sync "
    "--no-first-run --disable-quic"
).split(" ")


def take(page_path: Path, out: Path) -> None:
    """Write a picture of a page as a laptop shows it, 1280 by 800."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(page_path.resolve().as_uri())
        page.wait_for_timeout(500)
        page.screenshot(path=out)
        browser.close()


if __name__ == "__main__":
    take(Path(sys.argv[1]), Path(__file__).parents[1] / "docs" / "pictures" / "debrief.png")
