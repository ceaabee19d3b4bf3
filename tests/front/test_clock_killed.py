"""Pages at phone size that reload, and whose browser is killed while buttons are pressed."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Playwright, expect

from amount import amount
from clock_visits import Phones, begun, hosted, stored

PAGES = amount(8, desk=20)
ROUNDS = amount(2, desk=3)
# Press everything as fast as possible, and report each split that the page says is kept.
PRESS = """() => {
  for (const folded of document.querySelectorAll('.more details')) folded.open = true
  let before = ''
  setInterval(() => {
    const big = document.querySelector('.big-key')
    const about = document.querySelector('.about')?.textContent.trim() ?? ''
    if (about === 'Kept on this phone.' && big.textContent.trim() !== before) {
      before = big.textContent.trim()
      console.log(`kept ${location.hash.split('/').pop()} ${before}`)
    }
    if (big?.textContent.trim() === 'Out and off') document.querySelector('.last button')?.click()
    else big?.click()
    const others = [...document.querySelectorAll('.more .pads button')].filter((one) => one.hasAttribute('aria-pressed'))
    others[Math.floor(Math.random() * others.length)]?.click()
  }, 200)
}"""


@pytest.mark.desk
def test_contract_every_confirmed_split_outlives_reloads_and_a_killed_browser(
    playwright: Playwright, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with hosted(tmp_path / "host") as host:
        phones = Phones(playwright, tmp_path / "profile")
        try:
            phones.start()
            runs = [_one_run(phones, host) for _ in range(PAGES)]
            reloads = sum(_round(phones, host, runs, seed) for seed in range(ROUNDS))
            items = _all_kept(phones, host)
        finally:
            if phones.process:
                phones.kill()
    lost = [told for told in phones.kept if not _is_there(told, items)]
    splits = [item for item in items if item["kind"] == "split"]
    with capsys.disabled():
        print(
            f"\n{PAGES} pages, {reloads} reloads, {ROUNDS} kills of the browser: {len(phones.kept)} splits confirmed, "
            f"{len(lost)} lost; {len(splits)} splits and {len(items)} items stored"
        )
    assert lost == []
    assert len(phones.kept) >= PAGES
    for run in runs:
        numbers = sorted(item["n"] for item in items if item["of"] == run)
        assert numbers == list(range(1, len(numbers) + 1))
    assert len({item["id"] for item in items}) == len(items)


def _one_run(phones: Phones, host: str) -> str:
    page = phones.open(host)
    run = begun(page, burials=1)
    page.close()
    return run


def _round(phones: Phones, host: str, runs: list[str], seed: int) -> int:
    """Press on every page, reload some meanwhile, then kill the browser and start it again."""
    confirmed = len(phones.kept)
    pages = [phones.open(f"{host}#run/{run}") for run in runs]
    for page in pages:
        expect(page.locator(".big-key")).to_be_visible()
        page.evaluate(PRESS)
    reloaded = pages[seed::3]
    for page in reloaded:
        page.reload()
        page.evaluate(PRESS)
    # The driver receives the pages' reports while it waits for one of them.
    until = time.monotonic() + 45
    while len(phones.kept) < confirmed + PAGES and time.monotonic() < until:
        pages[0].evaluate("new Promise((on) => setTimeout(on, 50))")
    phones.kill()
    phones.start()
    return len(reloaded)


def _all_kept(phones: Phones, host: str) -> list[dict[str, Any]]:
    page = phones.open(host)
    expect(page.get_by_role("heading", name="Runs on this phone")).to_be_visible()
    return stored(page)


NAMES = {
    "first signal": "first_signal", "within 10 m": "within_10_m", "lowest reading": "lowest_reading",
    "probe strike": "probe_strike", "airway clear": "airway_clear", "set out and off": "set_out",
}  # fmt: skip


def _is_there(told: tuple[str, str], items: list[dict[str, Any]]) -> bool:
    """Return whether a reported split is in the storage, at the same second after the alarm."""
    run, words = told
    name, _, time = words.replace("\u00a0", " ").rpartition(" ")
    alarm = next(item["wall_ms"] for item in items if item["of"] == run and item["kind"] == "alarm")
    minutes, seconds = map(int, time.split(":"))
    return any(
        item["of"] == run and item["kind"] == "split" and item["split"] == NAMES[name]
        and (item["wall_ms"] - alarm) // 1000 == 60 * minutes + seconds
        for item in items
    )  # fmt: skip
