"""The clock's page on phones: written as by a school, opened from a web host or from a file."""

from __future__ import annotations

import functools
import os
import re
import signal
import ssl
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Playwright, expect

from coldfield.app.day.clock import carried_run, write_clock, write_run
from coldfield.app.drills.files import load_drill
from coldfield.files.day_file import DayFile, read_day_file
from visiting import CHROMIUM, FLAGS, PHONE

DEMO = Path(__file__).parents[1] / "src" / "coldfield" / "app" / "demo" / "drill.json"
RUN_ID = "3f6c1a52-0000-4000-8000-000000000001"
KEPT = "Kept on this phone."
# Everything in the phone's storage for one run, in the order of presses.
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
def hosted(folder: Path, name: str = "127.0.0.1", tls: ssl.SSLContext | None = None) -> Iterator[str]:
    """Serve the installable clock from a folder on this machine; yields its address, with a host's name."""
    write_clock(folder)

    class Quiet(SimpleHTTPRequestHandler):
        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(folder)))
    if tls is not None:
        server.socket = tls.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"{'http' if tls is None else 'https'}://{name}:{server.server_address[1]}/"
    finally:
        server.shutdown()
        thread.join(10)
        server.server_close()


def written_run(folder: Path, **told: Any) -> Path:
    """Write the demo drill as one page with a run in it; returns the page."""
    told.setdefault("agreed_word", "Granite")
    told.setdefault("emergency_number", "1234")
    return write_run(carried_run(load_drill(DEMO), run_id=RUN_ID, name="Run 2", **told), folder)[0]


def begun(page: Page, burials: int = 2) -> str:
    """Begin a run without a plan and press the alarm; returns its id."""
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
    """Return the phone's items of a run, or of all runs."""
    return list(page.evaluate(STORED, of))


def opened(page: Page, part: str) -> None:
    """Open a collapsed part of the page."""
    page.locator("summary", has_text=part).click()


def brought(page: Page) -> DayFile:
    """Save everything that waits as a file, and read it as the laptop does."""
    page.evaluate("location.hash = 'back'")
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save as a file").click()
    return read_day_file(Path(saving.value.path()).read_bytes(), saving.value.suggested_filename)


def quiet_page(context: BrowserContext, trouble: list[str]) -> Page:
    """Open an empty page whose console errors are collected."""
    context.set_default_timeout(10_000)
    page = context.new_page()
    page.on("console", lambda m: trouble.append(m.text) if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: trouble.append(str(error)))
    return page


class Phones:
    """A separate browser process with its own profile, which can be killed."""

    def __init__(self, playwright: Playwright, profile: Path, *flags: str) -> None:
        self.profile = profile
        self.flags = flags
        self.playwright = playwright
        self.process: subprocess.Popen[bytes] | None = None
        self.kept: list[tuple[str, str]] = []

    def start(self) -> None:
        # Its output goes to a file, because a pipe that nobody reads would block it.
        with (self.profile.parent / "browser.log").open("w") as log:
            self.process = subprocess.Popen(
                [str(CHROMIUM), "--headless=new", "--remote-debugging-port=0",
                 f"--user-data-dir={self.profile}", "--disable-renderer-backgrounding",
                 "--disable-background-timer-throttling", *FLAGS, *self.flags, "about:blank"],
                stdout=log, stderr=log, start_new_session=True,
            )  # fmt: skip
        self.browser = self.playwright.chromium.connect_over_cdp(self._address())
        self.context = self.browser.contexts[0]
        self.context.set_default_timeout(30_000)

    def _address(self) -> str:
        log = self.profile.parent / "browser.log"
        until = time.monotonic() + 60
        while time.monotonic() < until:
            found = re.search(r"listening on (ws://\S+)", log.read_text())
            if found:
                return found[1]
            time.sleep(0.1)
        raise AssertionError(log.read_text())

    def open(self, address: str) -> Page:
        page = self.context.new_page()
        page.set_viewport_size(PHONE)
        page.on("console", self._heard)
        page.goto(address)
        return page

    def _heard(self, message: Any) -> None:
        words = message.text.split(" ", 2)
        if words[0] == "kept":
            self.kept.append((words[1], words[2]))

    def kill(self) -> None:
        """Kill the browser with all its processes, as an empty battery would."""
        assert self.process
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(20)
        self.process = None
