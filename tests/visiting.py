"""Serve Coldfield on this machine, and visit it in a browser."""

from __future__ import annotations

import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from coldfield.app.records.data import Data, writing
from coldfield.records.folder import Folder
from coldfield.web.app import create_app, make_jobs
from coldfield.web.hut.sharing import Sharing
from coldfield.web.listening import address, listen
from coldfield.web.serving import make_server

CHROMIUM = Path("/usr/bin/chromium")
HEADLESS = Path("/usr/bin/chromium-headless-shell")
"""The same engine without windows, if installed: a page needs half the processor time."""

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run", "--disable-quic",
]  # fmt: skip
LAPTOP = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}
PROJECTOR = {"width": 1920, "height": 1080}

# How long to wait for an expectation on a page on a busy machine, ms.
PATIENCE_MS = 30_000
expect.set_options(timeout=PATIENCE_MS)


@contextmanager
def served(records: Path, log: Path) -> Iterator[str]:
    """Serve records on a free port of this machine; yields the address, without its final slash."""
    command = [sys.executable, "-m", "coldfield", "serve", "--data", str(records), "--port", "0"]
    with (
        log.open("w") as errors,
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=errors, text=True) as process,
    ):
        try:
            assert process.stdout
            line = ""
            while not line.startswith("http"):
                line = process.stdout.readline()
                assert line, log.read_text()
            yield line.strip().rstrip("/")
        finally:
            process.send_signal(signal.SIGINT)
            process.wait(timeout=20)


@contextmanager
def served_here(records: Path) -> Iterator[str]:
    """Serve records from this process, which starts quickly and prepares nothing in advance."""
    data = Data(Folder(records))
    ready = threading.Event()
    with ExitStack() as stack:
        listener = stack.enter_context(listen("127.0.0.1", 0))
        database = stack.enter_context(writing(data, who="a test"))
        jobs = make_jobs(database)
        stack.callback(jobs.close)
        sharing = Sharing(partial(make_server, ready=lambda: None, alone=False))
        app = create_app(database, data=data, jobs=jobs, sharing=sharing)
        server = make_server(app, ready=ready.set, sharing=sharing)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            assert ready.wait(20)
            yield address(listener).rstrip("/")
        finally:
            server.should_exit = True
            thread.join(20)


class Visit:
    """Windows of one browser profile on one service.

    Afterwards there must be no console errors and no requests elsewhere; a test that breaks the service on
    purpose sets `troubled`.
    """

    def __init__(self, browser: Browser, site: str, **options: Any) -> None:
        options.setdefault("viewport", LAPTOP)
        options.setdefault("reduced_motion", "reduce")
        options.setdefault("locale", "en-GB")
        self.site = site
        self.context: BrowserContext = browser.new_context(**options)
        self.context.set_default_timeout(PATIENCE_MS)
        self.trouble: list[str] = []
        self.troubled = False

    def open(self, path: str = "/") -> Page:
        """Open an address in a new tab."""
        page = self.context.new_page()
        page.on(
            "console",
            lambda message: self._told(message.type, f"{message.text} {message.location.get('url', '')}"),
        )
        page.on("pageerror", lambda error: self.trouble.append(f"error: {error}"))
        page.on("request", lambda request: self._asked(request.url))
        page.goto(self.site + path)
        return page

    def _told(self, kind: str, text: str) -> None:
        if kind in ("error", "warning"):
            self.trouble.append(f"console: {text}")

    def _asked(self, url: str) -> None:
        if not url.startswith((self.site, "data:", "blob:")):
            self.trouble.append(f"asked {url}")


Visiting = Callable[..., Visit]

FRAMES = "() => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))"
"""Two frames of the page: changes by a key or the pointer are in the second."""

AT_REST = """(select) => new Promise((rested) => {
  const look = () => JSON.stringify([...document.querySelectorAll(select)].map((one) => ({ ...one.dataset })))
  let [last, same] = [look(), 0]
  const frame = () => {
    const now = look()
    same = now === last ? same + 1 : 0
    last = now
    if (same < 30) requestAnimationFrame(frame)
    else rested()
  }
  requestAnimationFrame(frame)
})"""
"""Thirty frames in which an element's data do not change."""


def saved(page: Page) -> None:
    """Wait until the page says that changes are saved."""
    expect(page.get_by_text("saved", exact=True)).to_be_visible()


def middle(thing: Locator) -> tuple[float, float]:
    """Return the pixel in the middle of a thing on the page."""
    box = thing.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Page, thing: Locator, dx: float, dy: float, steps: int = 6) -> None:
    """Drag a thing with the mouse."""
    x, y = middle(thing)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + dx, y + dy, steps=steps)
    page.mouse.up()
