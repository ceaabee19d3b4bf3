"""Phones that send to a server which is killed again and again, go offline, reload and are killed themselves."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Error, Page, Playwright, expect
from sqlalchemy import select

from amount import amount
from clock_visits import Phones, stored
from coldfield.app.hut.codes import Codes
from coldfield.records import schema
from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.listening import listen
from example_records import a_small_season, put

PAGES = amount(3, desk=20)
KILLS = amount(5, desk=200)
ROUNDS = amount(1, desk=4)
PHONES_OF_A_RUN = 5
PRESS_MS = amount(250, desk=1500)
OPENED_S = amount(60, desk=300)
"""How long a page may take to open while servers are killed, s."""
HOSTS = ".hut.example"
SERVER = Path(__file__).parents[1] / "web" / "killed_server.py"

PRESS = """(ms) => {
  for (const folded of document.querySelectorAll('.more details')) folded.open = true
  setInterval(() => {
    const alarm = [...document.querySelectorAll('button')].find((one) => one.textContent.trim() === 'Alarm')
    const big = document.querySelector('.big-key')
    if (big?.textContent.trim() === 'Out and off') document.querySelector('.last button')?.click()
    else (big ?? alarm)?.click()
    const others = [...document.querySelectorAll('.more .pads button')]
    others[Math.floor(Math.random() * others.length)]?.click()
  }, ms)
}"""
"""Press the next split, and something else."""


class Killed:
    """A server on a fixed port that can be killed and restarted instantly."""

    def __init__(self, folder: Path, port: int) -> None:
        paths = os.pathsep.join([str(SERVER.parents[1]), str(SERVER.parent)])
        self.process = subprocess.Popen(
            [sys.executable, str(SERVER), str(folder), str(port), HOSTS],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": paths},
        )  # fmt: skip
        self.kills = 0

    def start(self) -> int:
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.write("\n")
        self.process.stdin.flush()
        return int(self.process.stdout.readline().split()[0])

    def kill(self, server: int) -> None:
        assert self.process.stdout
        with suppress(ProcessLookupError):
            os.kill(server, signal.SIGKILL)
        assert self.process.stdout.readline().strip() == "ended"

    def kill_often(self, times: int, seed: int, done: threading.Event) -> None:
        """Kill servers after up to about a second, a number of times and until everything is done.

        Between them there are moments without a server.
        """
        chance = random.Random(seed)
        until = self.kills + times
        while self.kills < until or not done.is_set():
            server = self.start()
            time.sleep(chance.uniform(0.1, 1.4))
            self.kill(server)
            self.kills += 1
            time.sleep(chance.uniform(0.0, 0.3))

    def end(self) -> None:
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.close()
        self.process.wait(40)
        self.process.stdout.close()


@contextmanager
def served(folder: Path, port: int) -> Iterator[Killed]:
    server = Killed(folder, port)
    try:
        yield server
    finally:
        server.end()


def opened(phones: Phones, address: str) -> Page:
    """Open a page, with retries while there is no server."""
    page = phones.context.new_page()
    page.set_viewport_size({"width": 390, "height": 844})
    until = time.monotonic() + OPENED_S
    while True:
        with suppress(Error):
            page.goto(address, timeout=5000)
            page.locator("main h1").first.wait_for(timeout=5000)
            return page
        assert time.monotonic() < until, address


def codes_of(folder: Path) -> list[str]:
    """Make a run for every few phones, with a code each; return the ends of their addresses."""
    database = open_sqlite(Folder(folder))
    a_small_season(database)
    codes = Codes(database, clock=time.monotonic)
    ends = []
    for k in range(-(-PAGES // PHONES_OF_A_RUN)):
        told = {"drill_id": "fan", "drill_version": 1, "held_utc": "2026-02-14T12:00:00Z"}
        put(database, "runs", f"hut-run-{k}", **told)
        code = codes.make(f"hut-run-{k}", "keeper")
        ends += [f"#hut/keeper/{code.long}/hut-run-{k}"] * PHONES_OF_A_RUN
    database.close()
    return ends[:PAGES]


def one_round(phones: Phones, hosts: list[str], server: Killed, kills: int, seed: int) -> int:
    """Press on every page while servers are killed; some go offline, some reload, then all are killed."""
    done = threading.Event()
    killing = threading.Thread(target=server.kill_often, args=(kills, seed, done))
    killing.start()
    try:
        reloads = pressed_on(phones, hosts, seed)
    finally:
        done.set()
    while killing.is_alive():
        # The driver receives the pages' reports while it waits for one of them.
        phones.context.pages[-1].evaluate("new Promise((on) => setTimeout(on, 100))")
    killing.join()
    phones.kill()
    phones.start()
    return reloads


def pressed_on(phones: Phones, hosts: list[str], seed: int) -> int:
    """Start pressing on every page, reload a third of them, then disconnect the network for a moment."""
    addresses = [f"{host}/clock#run/hut-run-{k // PHONES_OF_A_RUN}" for k, host in enumerate(hosts)]
    pages = [opened(phones, address) for address in addresses]
    for page in pages:
        page.evaluate(PRESS, PRESS_MS)
    anew = list(zip(pages, addresses, strict=True))[seed % 3 :: 3]
    for page, address in anew:
        with suppress(Error):
            page.reload(timeout=3000)
        page.close()
        opened(phones, address).evaluate(PRESS, PRESS_MS)
    phones.context.set_offline(True)
    time.sleep(0.5)
    phones.context.set_offline(False)
    return len(anew)


def in_records(folder: Path) -> tuple[list[dict[str, Any]], int]:
    """Return the kept items, in the phones' form, and the number of records of splits."""
    database: Database = open_sqlite(Folder(folder))
    table = schema.day_item
    with database.read() as connection:
        rows = connection.execute(select(table).where(table.c.of.like("hut-run-%"))).mappings().all()
        splits = connection.execute(select(schema.split).where(schema.split.c.run_id.like("hut-run-%"))).all()
    database.close()
    items = [
        {"line": "item", **row["told"], **{key: row[key] for key in ("id", "of", "phone", "n")}}
        for row in rows
    ]
    return items, len(splits)


@pytest.mark.desk
def test_contract_nothing_is_lost_or_doubled_while_servers_and_phones_are_killed(
    playwright: Playwright, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "records"
    ends = codes_of(folder)
    with listen("127.0.0.1", 0) as free:
        port = free.getsockname()[1]
    hosts = [f"http://phone-{k}{HOSTS}:{port}" for k in range(PAGES)]
    phones = Phones(playwright, tmp_path / "profile", f"--host-resolver-rules=MAP *{HOSTS} 127.0.0.1")
    with served(folder, port) as server:
        try:
            phones.start()
            first = server.start()
            for host, end in zip(hosts, ends, strict=True):
                page = opened(phones, f"{host}/clock{end}")
                expect(page.get_by_role("button", name="Alarm", exact=True)).to_be_visible()
                assert "hut/keeper" not in page.url
            server.kill(first)
            phones.kill()
            phones.start()
            reloads = sum(
                one_round(phones, hosts, server, KILLS // ROUNDS + (k < KILLS % ROUNDS), k)
                for k in range(ROUNDS)
            )
            items = all_there(phones, hosts, server)
        finally:
            if phones.process:
                phones.kill()
    kept, splits = in_records(folder)
    there, here = {one["id"]: one for one in items}, {one["id"]: one for one in kept}
    lost = [one for one in items if one["id"] not in here]
    changed = [one["id"] for one in items if one["id"] in here and here[one["id"]] != one]
    with capsys.disabled():
        print(
            f"\n{PAGES} pages, {server.kills} kills of the server, {reloads} reloads, {ROUNDS + 1} kills of the browser: "
            f"{len(items)} items on the phones, {len(kept)} in the records ({splits} splits), {len(lost)} lost"
        )
    assert (lost, changed) == ([], [])
    assert len(kept) == len(here) == len(there) == len(items)
    assert len(items) >= 3 * PAGES
    assert server.kills >= KILLS


def all_there(phones: Phones, hosts: list[str], server: Killed) -> list[dict[str, Any]]:
    """Wait until every phone says that everything is in the hut; return the phones' items."""
    items = []
    running, since = server.start(), time.monotonic()
    for k, host in enumerate(hosts):
        if time.monotonic() - since > 20:
            # Each one stops automatically after half a minute.
            server.kill(running)
            running, since = server.start(), time.monotonic()
        page = opened(phones, f"{host}/clock#run/hut-run-{k // PHONES_OF_A_RUN}")
        expect(page.get_by_text("Everything is in the hut.")).to_be_visible()
        items += stored(page)
        page.close()
    server.kill(running)
    return items
