"""Weigh the pages: what the service sends until a page is quiet, by kind, in kB of 1,000 bytes as sent.

Run beside `make demo`, with the address it printed: python design/weigh_pages.py http://127.0.0.1:8457/
With `all`, print each file.
"""

from __future__ import annotations

import sys
from collections import Counter

from playwright.sync_api import sync_playwright
from take_pictures import FLAGS

PAGES = {"first": "", "drill": "drills/demo-drill", "run": "runs/demo-run"}
KINDS = {".js": "code", ".css": "style", ".woff2": "letters", ".json": "words"}
QUIET_MS = 2_500
"""Shorter than the time after which the app loads its other pages in advance. Setting."""


def weigh(address: str, *, each: bool) -> None:
    """Print the weight of each page in a browser with an empty cache."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        for name, path in PAGES.items():
            context = browser.new_context(viewport={"width": 1280, "height": 800}, locale="en-GB")
            page = context.new_page()
            sent: list[tuple[str, int]] = []
            page.on(
                "requestfinished",
                lambda request, sent=sent: sent.append((request.url, request.sizes()["responseBodySize"])),
            )
            page.goto(address + path)
            page.wait_for_timeout(QUIET_MS)
            own = [(url, size) for url, size in sent if "/api/" not in url]
            kinds: Counter[str] = Counter()
            for url, size in own:
                kinds[next((kind for end, kind in KINDS.items() if url.endswith(end)), "page")] += size
            parts = ", ".join(f"{kind} {size / 1000:.0f}" for kind, size in kinds.most_common())
            answers = sum(size for url, size in sent if "/api/" in url)
            print(f"{name}: {sum(kinds.values()) / 1000:.0f} kB ({parts}); answers {answers / 1000:.0f} kB")
            for url, size in sorted(own, key=lambda one: -one[1]) if each else ():
                print(f"    {size:7d} {url.removeprefix(address)}")
            context.close()
        browser.close()


if __name__ == "__main__":
    weigh(sys.argv[1], each="all" in sys.argv[2:])
