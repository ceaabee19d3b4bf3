"""Draw the clock's pages at phone size: light, dark, in German, and in glare.

`PYTHONPATH=tests python design/draw_clock.py [FOLDER]` writes a picture a page into the folder.

The picture in glare is `docs/pictures/clock_glare.png`: a white veil over the screen, 50 % in the middle of a
bright spot, less around it. A reflection reduces the contrast of everything equally.
"""

from __future__ import annotations

import sys
import tempfile
from base64 import b64encode
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from clock_visits import written_run
from visiting import CHROMIUM, FLAGS, PHONE

ROOT = Path(__file__).parents[1]

VEIL = "radial-gradient(circle at 60% 30%, rgba(255,255,255,.55), rgba(255,255,255,.25) 60%)"


def main(folder: Path) -> None:
    """Write one picture per page and style into the folder, and the one with glare into the docs."""
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as place:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        address = written_run(Path(place)).as_uri()
        plain: list[bytes] = []
        for theme, locale in (("light", "en-GB"), ("dark", "en-GB"), ("dark", "de-AT"), ("light", "de-AT")):
            shown = _pages(browser, address, theme, locale)
            for name, picture in shown.items():
                (folder / f"{name}-{theme}-{locale[:2]}.png").write_bytes(picture)
            plain = plain or [shown[name] for name in ("before", "running", "check", "stop")]
        (ROOT / "docs" / "pictures" / "clock_glare.png").write_bytes(_glare(browser, plain))
        browser.close()


def _pages(browser: Browser, address: str, theme: str, locale: str) -> dict[str, bytes]:
    context = browser.new_context(
        viewport=PHONE, color_scheme=theme, locale=locale, has_touch=True, reduced_motion="reduce"
    )
    page = context.new_page()
    page.goto(address)
    page.locator("h1").wait_for()
    shown = {"before": page.screenshot()}
    page.locator(".big-key, button.big").first.click()
    page.locator("[role=timer]").wait_for()
    shown["running"] = page.screenshot()
    page.locator(".big-key").click()
    page.wait_for_function("!document.querySelector('.about')?.textContent.includes('...')")
    shown["pressed"] = page.screenshot()
    for name, place in (("back", "back"), ("here", "here"), ("home", ""), ("check", "check")):
        page.evaluate("(place) => (location.hash = place)", place)
        page.locator("h1").wait_for()
        shown[name] = page.screenshot()
    page.get_by_role("button", name="real emergency" if locale.startswith("en") else "Notfall").first.click()
    shown["stop"] = page.screenshot()
    context.close()
    return shown


def _glare(browser: Browser, pictures: list[bytes]) -> bytes:
    page: Page = browser.new_page(viewport={"width": 4 * 250 + 50, "height": 580})
    images = "".join(
        f'<div><img src="data:image/png;base64,{b64encode(one).decode()}"><i></i></div>' for one in pictures
    )
    page.set_content(
        "<style>body{margin:10px;display:flex;gap:10px;background:#e9ece8}div{position:relative}"
        f"img{{width:250px;display:block}}i{{position:absolute;inset:0;background:{VEIL}}}</style>{images}"
    )
    return page.screenshot()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp(prefix="clock-")))
