"""The clock on a phone: without a plan, from a prepared run, without network, and what it keeps."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from clock_visits import KEPT, RUN_ID, begun, brought, hosted, opened, quiet_page, split, stored, written_run
from coldfield.files.day_model import SplitItem
from visiting import PHONE

Phone = Callable[..., Page]


@pytest.fixture(scope="module")
def host(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with hosted(tmp_path_factory.mktemp("clock")) as address:
        yield address


@pytest.fixture
def phone(browser: Browser, host: str) -> Iterator[Phone]:
    """Open the clock on a separate phone: `phone()`, `phone(at=address)`; there must be no errors."""
    trouble: list[str] = []
    contexts: list[BrowserContext] = []

    def opening(at: str = host, *, before: str = "", **options: Any) -> Page:
        options = {
            "viewport": PHONE,
            "has_touch": True,
            "locale": "en-GB",
            "reduced_motion": "reduce",
        } | options
        contexts.append(browser.new_context(**options))
        if before:
            contexts[-1].add_init_script(before)
        page = quiet_page(contexts[-1], trouble)
        page.goto(at)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        return page

    yield opening
    for context in contexts:
        context.close()
    assert trouble == []


def test_contract_a_run_from_nothing_begins_with_three_presses(phone: Phone) -> None:
    page = phone()
    run = begun(page)

    assert [item["kind"] for item in stored(page, run)] == ["burial", "burial", "alarm"]
    assert re.fullmatch(r"n-\d{8}-[A-Z]{6}", run)
    expect(page.get_by_text("entries are not brought back yet")).to_be_visible()


def test_contract_a_press_is_shown_once_it_is_kept_and_the_button_is_dead_meanwhile(phone: Phone) -> None:
    page = phone()
    run = begun(page)
    page.clock.install()
    page.reload()
    big = page.locator(".big-key")
    expect(big).to_have_text("first signal")
    page.clock.pause_at(page.evaluate("Date.now()") + 5000)

    big.click()
    expect(page.get_by_text(KEPT)).to_be_visible()
    expect(big).to_have_text(re.compile(r"^first signal \d+:\d\d$"))
    page.clock.run_for(1400)
    expect(big).to_have_attribute("aria-disabled", "true")
    big.click(force=True)
    assert len(stored(page, run)) == 4
    page.clock.run_for(300)
    expect(big).to_have_text("within 10 m")
    big.click()
    expect(page.get_by_text(KEPT)).to_be_visible()
    assert [item["split"] for item in stored(page, run) if item["kind"] == "split"] == [
        "first_signal",
        "within_10_m",
    ]


def test_contract_who_undo_and_a_time_corrected_afterwards(phone: Phone, tmp_path: Path) -> None:
    page = phone(written_run(tmp_path).as_uri())
    page.get_by_role("button", name="Alarm", exact=True).click()
    split(page, "first signal")
    page.get_by_role("group", name="Who was it?").get_by_role("button", name="Bram").click()
    expect(page.get_by_text(re.compile(r"^first signal A, \d:\d\d, Bram$"))).to_be_visible()
    split(page, "within 10 m")
    page.get_by_role("button", name="Undo: within 10 m").click()
    expect(page.locator(".big-key")).to_have_text("within 10 m")

    page.get_by_role("link", name=re.compile("split: check, correct")).click()
    page.get_by_role("button", name=re.compile("first signal")).click()
    page.get_by_label("Time since the alarm").fill("4:20")
    page.get_by_role("button", name="Correct", exact=True).click()
    expect(page.get_by_role("button", name="4:20 first signal, A, Bram, corrected")).to_be_visible()
    page.get_by_role("button", name="Count it").click()
    expect(page.get_by_role("heading", name="Not counted")).to_have_count(0)
    page.reload()
    expect(page.get_by_role("button", name="4:20 first signal, A, Bram, corrected")).to_be_visible()


def test_contract_two_tabs_that_press_the_same_split_keep_one_aside(phone: Phone) -> None:
    first = phone()
    run = begun(first)
    # The second tab does not know of the first one's press, and presses half a second later.
    first.context.add_init_script("delete window.BroadcastChannel")
    second = first.context.new_page()
    second.goto(first.url)
    expect(second.locator(".big-key")).to_have_text("first signal")
    split(first, "first signal")
    pressed_ms = stored(first, run)[-1]["wall_ms"]
    second.evaluate(f"Date.now = () => {pressed_ms + 500}")
    second.locator(".big-key").click()
    expect(second.get_by_text("was set aside")).to_be_visible()

    items = stored(first, run)
    assert [item["n"] for item in items] == [1, 2, 3, 4, 5]
    assert [item["aside"] for item in items if item["kind"] == "split"] == [False, True]


def test_contract_a_run_timed_on_two_phones_without_network_comes_back_as_one(
    phone: Phone, tmp_path: Path
) -> None:
    page_file = written_run(tmp_path).as_uri()
    phones = [phone(page_file), phone(page_file)]
    for page in phones:
        page.context.set_offline(True)
        page.get_by_role("button", name="Alarm", exact=True).click()
    first, second = phones
    split(first, "first signal")
    second.get_by_role("button", name=re.compile("^B")).click()
    split(second, "first signal")
    second.get_by_role("button", name="leader named").click()
    expect(second.get_by_role("button", name="leader named")).to_have_attribute("aria-pressed", "true")
    opened(first, "Who digs with whom")
    first.locator(".more").get_by_role("button", name="Ines").click()
    expect(first.get_by_text("in front", exact=True)).to_be_visible()

    files = [brought(page) for page in phones]

    assert [file.faults for file in files] == [(), ()]
    assert {item.of for file in files for item in file.items} == {RUN_ID}
    assert len({phone.id for file in files for phone in file.phones}) == 2
    kinds = [sorted(item.kind for item in file.items) for file in files]
    assert kinds == [["alarm", "digs", "split"], ["alarm", "seen", "split"]]
    burials = {item.burial for file in files for item in file.items if isinstance(item, SplitItem)}
    assert burials == {"A", "B"}
    assert all(run.burials == files[0].runs[0].burials for file in files for run in file.runs)


def test_contract_what_waits_stays_marked_until_the_keeper_says_that_it_arrived(phone: Phone) -> None:
    page = phone()
    run = begun(page)
    assert brought(page).faults == ()
    page.reload()
    expect(page.get_by_role("heading", name="What has not been brought back yet?")).to_be_visible()
    assert not any(item["kind"] == "brought" for item in stored(page, run))
    with page.expect_download():
        page.get_by_role("button", name="Save as a file").click()
    page.get_by_role("button", name="Yes, it has been read in").click()
    expect(page.get_by_text("Everything on this phone has been brought back.")).to_be_visible()
    page.get_by_role("link", name="All runs").click()
    expect(page.get_by_text("not brought back yet")).to_have_count(0)

    page.goto(page.url.split("#")[0] + f"#run/{run}")
    split(page, "first signal")
    expect(page.get_by_text("1 entry is not brought back yet")).to_be_visible()


def test_contract_a_second_keeper_joins_by_the_code(phone: Phone) -> None:
    first, second = phone(), phone()
    run = begun(first, burials=1)
    second.get_by_label("Code on the first keeper’s phone").fill("nonsense")
    second.get_by_role("button", name="Keep time too").click()
    expect(second.get_by_role("alert")).to_contain_text("six letters")
    second.get_by_label("Code on the first keeper’s phone").fill(run[-6:].lower())
    second.get_by_role("button", name="Keep time too").click()
    expect(second.get_by_role("button", name="Alarm", exact=True)).to_be_visible()
    assert second.url.endswith(run)
    # It missed the alarm: both press the mark.
    opened(second, "Second keeper")
    second.get_by_role("button", name="Mark 1, now").click()
    expect(second.get_by_text("The alarm was pressed on another phone")).to_be_visible()
    split(second, "first signal")


def test_contract_a_page_that_keeps_nothing_says_so_before_the_start(phone: Phone) -> None:
    broken = "Object.defineProperty(window, 'indexedDB', { get() { throw new Error('refused') } })"
    page = phone(before=broken)
    expect(page.get_by_role("alert")).to_contain_text("This page cannot keep anything.")
    begun(page)
    page.locator(".big-key").click()
    expect(page.get_by_text("Noted only on this page.")).to_be_visible()
    expect(page.get_by_text(KEPT)).to_have_count(0)


def test_contract_a_split_that_storage_refuses_is_not_confirmed_and_keeps_its_moment(phone: Phone) -> None:
    full = """
      const add = IDBObjectStore.prototype.add
      IDBObjectStore.prototype.add = function (value) {
        if (window.isFull) throw new DOMException('full', 'QuotaExceededError')
        return add.call(this, value)
      }"""
    page = phone(before=full)
    run = begun(page)
    page.evaluate("window.isFull = true")
    before_ms = page.evaluate("Date.now()")
    page.locator(".big-key").click()
    expect(page.get_by_text(re.compile("^NOT kept"))).to_be_visible()
    expect(page.get_by_text(KEPT)).to_have_count(0)
    assert len(stored(page, run)) == 3
    failed_ms = page.evaluate("Date.now()")
    page.evaluate("window.isFull = false")

    page.get_by_role("button", name=re.compile("^Keep first signal")).click()
    expect(page.get_by_text(KEPT)).to_be_visible()
    assert before_ms <= stored(page, run)[-1]["wall_ms"] <= failed_ms


def test_contract_an_installed_clock_opens_without_network(phone: Phone) -> None:
    page = phone()
    page.evaluate(
        "navigator.serviceWorker.ready.then((it) => new Promise((on) => it.active.state === 'activated' ? on() : it.active.addEventListener('statechange', on)))"
    )
    run = begun(page)
    page.context.set_offline(True)
    page.reload()
    split(page, "first signal")
    assert len(stored(page, run)) == 4


def test_contract_survival_is_shown_only_where_it_was_carried_and_switched_on(
    phone: Phone, tmp_path: Path
) -> None:
    page = phone(written_run(tmp_path / "without").as_uri())
    page.get_by_role("button", name="Alarm", exact=True).click()
    expect(page.get_by_role("timer")).to_be_visible()
    assert "urviv" not in page.locator("body").inner_text()

    page = phone(written_run(tmp_path / "with", survival=True).as_uri())
    page.get_by_role("button", name="Alarm", exact=True).click()
    assert "alive" not in page.locator("body").inner_text()
    page.get_by_role("button", name="Show survival").click()
    expect(page.get_by_text("min under the snow")).to_be_visible()


def test_contract_a_prepared_run_is_taken_from_a_file_and_a_changed_one_is_not(
    phone: Phone, tmp_path: Path
) -> None:
    from clock_visits import DEMO
    from coldfield.app.day.clock import carried_run
    from coldfield.app.drills.files import load_drill
    from coldfield.files.day_file import write_day_file
    from coldfield.files.day_model import HeadLine

    run = carried_run(load_drill(DEMO), run_id=RUN_ID, name="Run 3", own_splits=["first shovel"])
    whole = write_day_file(head=HeadLine(made_by="a test", made_ms=1_771_063_200_000), runs=[run])
    page = phone()
    choose = page.get_by_label("Take a prepared run from a file")
    choose.set_input_files(
        {"name": "x.txt", "mimeType": "text/plain", "buffer": whole.replace(b"Run 3", b"Run 4")}
    )
    expect(page.get_by_role("alert")).to_contain_text("cut short or changed")
    choose.set_input_files({"name": "x.txt", "mimeType": "text/plain", "buffer": whole})
    expect(page.get_by_role("heading", name="Run 3")).to_be_visible()
    page.get_by_role("button", name="Alarm", exact=True).click()
    opened(page, "Another split")
    page.get_by_role("button", name="first shovel").click()
    expect(page.get_by_text(KEPT)).to_be_visible()
