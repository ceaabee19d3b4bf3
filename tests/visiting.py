"""Coldfield served on this machine, and a person's visit to it in a browser."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run", "--disable-quic",
]  # fmt: skip
LAPTOP = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}
PROJECTOR = {"width": 1920, "height": 1080}


@contextmanager
def served(records: Path, log: Path) -> Iterator[str]:
    """Serve records on a free port of this machine; gives the address, without its last slash."""
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


class Visit:
    """Windows of one browser profile on one service.

    Whatever a page complains of, or asks of elsewhere, is held to be nothing afterwards; a test
    that breaks the service on purpose sets `troubled`.
    """

    def __init__(self, browser: Browser, site: str, **options: Any) -> None:
        options.setdefault("viewport", LAPTOP)
        options.setdefault("reduced_motion", "reduce")
        options.setdefault("locale", "en-GB")
        self.site = site
        self.context: BrowserContext = browser.new_context(**options)
        self.context.set_default_timeout(10_000)
        self.trouble: list[str] = []
        self.troubled = False

    def open(self, path: str = "/") -> Page:
        """Open an address in a tab of its own."""
        page = self.context.new_page()
        page.on("console", lambda message: self._told(message.type, message.text))
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
