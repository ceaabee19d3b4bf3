"""The clock's page on phones: written as a school would, opened from a web host or from a file."""

from __future__ import annotations

import functools
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, expect

from coldfield.app.clock import carried_run, write_clock, write_run
from coldfield.app.drills import load_drill
from coldfield.files.day_file import DayFile, read_day_file

DEMO = Path(__file__).parents[1] / "src" / "coldfield" / "app" / "demo_drill.json"
RUN_ID = "3f6c1a52-0000-4000-8000-000000000001"
KEPT = "Kept on this phone."
# Everything that the phone's storage holds for one run, in the order it was pressed.
STORED = """(of) => new Promise((done, failed) => {
  const asked = indexedDB.open('coldfield-clock')
  asked.onerror = () => failed(asked.error)
  asked.onsuccess = () => {
    const all = asked.result.transaction('items').objectStore('items').getAll()
    all.onsuccess = () => {
      asked.result.close()
      done(all.result.filter((item) => !of || item.of === of).sort((a, b) => a.n - b.n))
    }
  }
})"""


@contextmanager
def hosted(folder: Path) -> Iterator[str]:
    """Serve the installable clock from a folder on this machine; gives its address."""
    write_clock(folder)

    class Quiet(SimpleHTTPRequestHandler):
        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(folder)))
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}/"
    finally:
        server.shutdown()
        thread.join(10)
        server.server_close()


def written_run(folder: Path, **told: Any) -> Path:
    """Write the demo drill as one page with a run in it; gives the page."""
    told.setdefault("agreed_word", "Granite")
    told.setdefault("emergency_number", "1234")
    return write_run(carried_run(load_drill(DEMO), run_id=RUN_ID, name="Run 2", **told), folder)[0]


def begun(page: Page, burials: int = 2) -> str:
    """Begin a run from nothing and press the alarm; gives its id."""
    page.get_by_role("button", name="New run").click()
    page.get_by_role("button", name=str(burials), exact=True).click()
    page.get_by_role("button", name="Alarm", exact=True).click()
    expect(page.get_by_role("timer")).to_be_visible()
    return page.url.rsplit("/", 1)[-1]


def split(page: Page, name: str) -> None:
    """Press the next split, by its name, and wait until it is kept."""
    big = page.locator(".big-key")
    expect(big).to_have_text(name)
    big.click()
    expect(page.get_by_text(KEPT)).to_be_visible()


def stored(page: Page, of: str = "") -> list[dict[str, Any]]:
    """Return what the phone's storage holds of a run, or of all."""
    return list(page.evaluate(STORED, of))


def opened(page: Page, part: str) -> None:
    """Open a folded part of the page."""
    page.locator("summary", has_text=part).click()


def brought(page: Page) -> DayFile:
    """Save everything that waits as a file, and read it as the laptop does."""
    page.evaluate("location.hash = 'back'")
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save as a file").click()
    return read_day_file(Path(saving.value.path()).read_bytes(), saving.value.suggested_filename)


def quiet_page(context: BrowserContext, trouble: list[str]) -> Page:
    """Open an empty page whose complaints are collected."""
    context.set_default_timeout(10_000)
    page = context.new_page()
    page.on("console", lambda m: trouble.append(m.text) if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: trouble.append(str(error)))
    return page
