"""The clock over https, over the plain http of a hut's network, and from a file, in Chromium: what works there."""

from __future__ import annotations

import re
import ssl
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Error, Page, Playwright, expect

from clock_visits import Phones, begun, brought, hosted, split, stored

DOCS = Path(__file__).parents[2] / "docs" / "clock.md"
# An invented name resolves to this machine, so that the browser does not treat it as local; the key is
# unsigned.
NAME = "clock.example"
LED_HERE = (f"--host-resolver-rules=MAP {NAME} 127.0.0.1", "--ignore-certificate-errors")
COLUMNS = {"https": 2, "http": 3, "file": 4}
ROWS = {
    "storage over a reload": "storage",
    "storage after the browser is killed": "killed",
    "opens without network": "offline",
    "screen kept on": "Screen kept on",
    "saving as a file": "saved",
}


@contextmanager
def way_to(way: str, folder: Path) -> Iterator[str]:
    """Deliver the clock to a browser in one way; yields its address."""
    if way == "file":
        with hosted(folder / "host"):
            yield (folder / "host" / "index.html").as_uri()
    elif way == "http":
        with hosted(folder / "host", NAME) as address:
            yield address
    else:
        with hosted(folder / "host", NAME, _tls(folder)) as address:
            yield address


def _tls(folder: Path) -> ssl.SSLContext:
    key, certificate = folder / "key.pem", folder / "certificate.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1", "-subj", f"/CN={NAME}",
         "-addext", f"subjectAltName=DNS:{NAME}", "-keyout", key, "-out", certificate],
        check=True, capture_output=True,
    )  # fmt: skip
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    return context


def _checked(page: Page) -> dict[str, bool]:
    """Return the page's own check of what works."""
    page.evaluate("location.hash = 'here'")
    rows = page.locator("tbody tr")
    expect(rows.first).to_be_visible()
    return {row.locator("th").inner_text(): row.locator("td").inner_text() == "works" for row in rows.all()}


def _without_network(page: Page, address: str) -> bool:
    page.context.set_offline(True)
    try:
        page.goto(address)
        page.reload()
        expect(page.get_by_role("heading", level=1)).to_be_visible()
    except Error:
        return False
    finally:
        page.context.set_offline(False)
    return True


@pytest.mark.parametrize("way", ["https", "http", "file"])
def test_contract_what_works_one_way_is_what_the_table_says(
    playwright: Playwright, tmp_path: Path, way: str
) -> None:
    phones = Phones(playwright, tmp_path / "profile", *LED_HERE)
    with way_to(way, tmp_path) as address:
        try:
            phones.start()
            page = phones.open(address)
            run = begun(page)
            split(page, "first signal")
            page.reload()
            found = {"storage": _splits(page, run) == 1}
            phones.kill()
            phones.start()
            page = phones.open(address)
            found["killed"] = _splits(page, run) == 1
            found["saved"] = len(brought(page).items) > 0
            found |= _checked(page)
            if "serviceWorker" in page.evaluate("Object.keys(Navigator.prototype)") and way != "file":
                page.evaluate("navigator.serviceWorker.ready.then(() => true)")
            found["offline"] = way == "file" or _without_network(page, address)
        finally:
            if phones.process:
                phones.kill()
    print(way, found)
    told = _table(way)
    assert {row: found[key] for row, key in ROWS.items()} == {row: "Chromium" in told[row] for row in ROWS}


def _splits(page: Page, run: str) -> int:
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    return sum(item["kind"] == "split" for item in stored(page, run))


def _table(way: str) -> dict[str, str]:
    """Return what the table in the docs says about one way: row -> the words after 'works:'."""
    lines = [line.strip("|").split("|") for line in DOCS.read_text().splitlines() if line.startswith("| ")]
    cells = {row[0].strip(): row[COLUMNS[way]].strip() for row in lines if len(row) == 5}
    return {row: (re.search(r"works: ([^;]*)", words) or [""])[0] for row, words in cells.items()}
