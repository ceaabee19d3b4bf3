"""A run timed on two phones without network, brought back by dropping their files, ends as one record."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from clock_visits import begun, hosted, opened, quiet_page, split
from coldfield.files.day_file import write_day_file
from coldfield.files.day_model import ITEMS, HeadLine, PhoneLine
from drill_records import asked, new_drill
from drops import dropped
from example_records import DRILL
from visiting import PHONE, Visiting

Phone = Callable[..., Page]
JOB_MS = 180_000


@pytest.fixture(scope="module")
def host(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with hosted(tmp_path_factory.mktemp("clock")) as address:
        yield address


@pytest.fixture
def phone(browser: Browser, host: str) -> Iterator[Phone]:
    trouble: list[str] = []
    contexts: list[BrowserContext] = []

    def opening() -> Page:
        options: dict[str, Any] = {"viewport": PHONE, "has_touch": True, "locale": "en-GB"}
        contexts.append(browser.new_context(**options))
        page = quiet_page(contexts[-1], trouble)
        page.goto(host)
        return page

    yield opening
    for context in contexts:
        context.close()
    assert trouble == []


def saved(page: Page) -> bytes:
    page.evaluate("location.hash = 'back'")
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save as a file").click()
    return Path(saving.value.path()).read_bytes()


def test_contract_two_phones_without_network_end_as_one_run(visit: Visiting, phone: Phone) -> None:
    visited = visit()
    app = visited.open(f"/drills/{new_drill(visited.site)}")
    with app.expect_download() as saving:
        app.get_by_role("link", name="Take to the phone").click()
    carried = Path(saving.value.path())
    phones = [phone(), phone()]
    for page in phones:
        page.locator("input[type=file]").set_input_files(
            {"name": "run.coldfield-day.txt", "mimeType": "text/plain", "buffer": carried.read_bytes()}
        )
        expect(page.get_by_role("button", name="Alarm", exact=True)).to_be_visible()
        page.context.set_offline(True)
    for page in phones:
        page.get_by_role("button", name="Alarm", exact=True).click()
    first, second = phones
    split(first, "first signal")
    second.get_by_role("button", name="leader named").click()
    files = [saved(page) for page in phones]

    dropped(app, ("second.coldfield-day.txt", files[1]))
    expect(app.get_by_role("heading", name="From the phones")).to_be_visible()
    assert re.search(r"/runs/[^/]+\?step=splits", app.url)
    run_id = app.url.split("/runs/")[1].split("?")[0]
    dropped(app, ("first.coldfield-day.txt", files[0]))
    expect(app.get_by_role("table", name="Phones that kept time").get_by_role("row")).to_have_count(3)
    dropped(app, ("first.coldfield-day.txt", files[0]))
    expect(app.get_by_text("0 new entries, 2 were here already")).to_be_visible()
    splits = asked(visited.site, f"splits?run_id={run_id}")["items"]
    assert sorted(one["split"] for one in splits) == ["alarm", "first_signal"]
    seen = asked(visited.site, f"observations?run_id={run_id}")["items"]
    assert [one["about"] for one in seen] == ["leader_named"]
    # The splits alone give a debrief that says what only a track could show.
    app.goto(f"{visited.site}/runs/{run_id}?step=debrief")
    expect(app.get_by_text("Without a track the debrief is made from the splits")).to_be_visible()
    app.get_by_role("button", name="Debrief this run").click()
    expect(app.get_by_text("No track was recorded:")).to_be_visible(timeout=JOB_MS)
    expect(app.get_by_text("leader named").first).to_be_visible()
    expect(app.get_by_role("row").filter(has_text="Signal search")).to_be_visible()
    expect(app.get_by_text("missing splits: within 10 m")).to_be_visible()
    expect(app.get_by_role("button", name="Play", exact=True)).to_have_count(0)
    (alone,) = asked(visited.site, f"debriefs?run_id={run_id}")["items"]
    # A track of one searcher during the run adds the rest.
    alarm_s = next(one["time_unix_s"] for one in splits if one["split"] == "alarm")
    dropped(app, ("Ines.gpx", walked(alarm_s)))
    expect(app.locator("ul.tracks > li").filter(has_text="Ines.gpx")).to_be_visible()
    app.goto(f"{visited.site}/runs/{run_id}?step=debrief")
    app.get_by_role("button", name="Debrief again").click()
    expect(app.get_by_role("button", name="Play", exact=True)).to_be_visible(timeout=JOB_MS)
    expect(app.get_by_text("leader named").first).to_be_visible()
    made = asked(visited.site, f"debriefs?run_id={run_id}")["items"]
    (debrief,) = [one for one in made if one["id"] != alone["id"]]
    told = asked(visited.site, f"debriefs/{debrief['id']}")["document"]["splits"]
    # Two phones press within one second of each other; the order does not matter.
    assert sorted(one["split"] for one in told) == ["alarm", "first_signal", "observation"]
    assert [one["note"] for one in told if one["split"] == "observation"] == ["leader named"]
    phones = asked(visited.site, f"runs/{run_id}/day")["phones"]
    assert sorted(one["by"] for one in phones) == ["alarm", "this clock"]
    app.goto(f"{visited.site}/runs/{run_id}?step=splits")
    expect(app.get_by_text("both pressed the alarm")).to_be_visible()
    dropped(app, ("edited.coldfield-day.txt", files[1].replace(b"leader_named", b"call_made")))
    expect(app.get_by_role("alert").filter(has_text="incomplete")).to_contain_text("line ")
    dropped(app, ("cut.coldfield-day.txt", files[0][:-60]))
    expect(app.get_by_role("alert").filter(has_text="incomplete")).to_contain_text("cut short")
    # Nothing is doubled or lost.
    assert len(asked(visited.site, f"splits?run_id={run_id}")["items"]) == 2
    assert len(asked(visited.site, f"observations?run_id={run_id}")["items"]) == 1


def walked(from_unix_s: float) -> bytes:
    """Return a track of two minutes up the slope of the example drill."""
    start = datetime.fromtimestamp(from_unix_s, UTC)
    points = "".join(
        f'<trkpt lat="{61.2 + at * 4e-6:.7f}" lon="8.1005">'
        f"<time>{(start + timedelta(seconds=at)).isoformat().replace('+00:00', 'Z')}</time></trkpt>"
        for at in range(0, 121, 2)
    )
    return (
        '<gpx version="1.1" creator="example" xmlns="http://www.topografix.com/GPX/1/1">'
        f"<trk><name>Ines</name><trkseg>{points}</trkseg></trk></gpx>"
    ).encode()


def test_contract_a_run_from_nothing_is_joined_and_the_keeper_says_which_burial_is_which(
    visit: Visiting, phone: Phone
) -> None:
    burials = [{**DRILL["burials"][0], "id": "upper"}, {**DRILL["burials"][1], "id": "lower"}]
    visited = visit()
    drill_id = new_drill(visited.site, name="Ridge, joined later", burials=burials)
    page = phone()
    begun(page)
    split(page, "first signal")
    file = {"name": "x.coldfield-day.txt", "mimeType": "text/plain", "buffer": saved(page)}
    app = visited.open("/runs")
    # People who cannot drop a file can choose it.
    expect(app.get_by_role("button", name="Files from the phones")).to_be_visible()
    app.locator("input[data-day-files]").set_input_files(file)
    waits = app.get_by_role("form", name="A run from a phone")
    waits.get_by_label("It belongs to").select_option(f"drill {drill_id}")
    expect(waits.get_by_label("burial A")).to_have_value("upper")
    expect(waits.get_by_label("burial B")).to_have_value("lower")
    waits.get_by_label("burial A").select_option("lower")
    waits.get_by_role("button", name="Keep it there").click()
    # Both cannot be the lower one.
    expect(app.get_by_role("alert").filter(has_text="chosen twice")).to_be_visible()
    visited.troubled = True  # the browser reports the refusal
    waits.get_by_label("burial B").select_option("upper")
    waits.get_by_role("button", name="Keep it there").click()
    expect(app.get_by_role("heading", name="From the phones")).to_be_visible()
    run_id = app.url.split("/runs/")[1].split("?")[0]
    rows = asked(visited.site, f"splits?run_id={run_id}")["items"]
    assert {one["split"]: one["burial"] for one in rows} == {"alarm": None, "first_signal": "lower"}


def test_contract_the_word_and_the_number_go_to_the_phone_and_one_that_has_none_says_so(
    visit: Visiting, phone: Phone
) -> None:
    visited = visit()
    app = visited.open(f"/drills/{new_drill(visited.site)}")
    expect(app.get_by_text("shows none, unless")).to_be_visible()
    app.get_by_label("Agreed word for a real emergency").fill("Granite")
    app.get_by_label("Your emergency number").fill("1234")
    expect(app.get_by_text("shows none, unless")).to_have_count(0)
    with app.expect_download() as saving:
        app.get_by_role("link", name="Take to the phone").click()
    page = phone()
    page.locator("input[type=file]").set_input_files(
        {
            "name": "r.coldfield-day.txt",
            "mimeType": "text/plain",
            "buffer": Path(saving.value.path()).read_bytes(),
        }
    )
    expect(page.get_by_role("button", name="Alarm", exact=True)).to_be_visible()
    expect(page.get_by_text("Enter them before the alarm")).to_have_count(0)
    page.get_by_role("button", name="Stop: real emergency").click()
    # The dialog ignores presses in its first moments, which were meant for what was under it.
    shown_ms = page.evaluate("performance.now()")
    page.wait_for_function("(shown) => performance.now() - shown > 700", arg=shown_ms)
    page.get_by_role("dialog").get_by_role("button").last.click()
    expect(page.get_by_text("Granite")).to_be_visible()
    expect(page.get_by_role("link", name="1234")).to_be_visible()

    bare = phone()
    bare.get_by_role("button", name="New run").click()
    bare.get_by_role("button", name="1", exact=True).click()
    expect(bare.get_by_text("Enter them before the alarm")).to_be_visible()


def test_contract_a_note_is_corrected_and_taken_back_on_the_phone(phone: Phone) -> None:
    page = phone()
    begun(page, burials=1)
    opened(page, "In your own words")
    page.get_by_label("Note").fill("Wint got up")
    page.get_by_role("button", name="Add").last.click()
    page.get_by_role("button", name="Correct: Wint got up").click()
    page.get_by_label("The right words").fill("Wind got up")
    page.get_by_role("button", name="Keep these words").click()
    expect(page.get_by_role("button", name="Correct: Wind got up")).to_be_visible()
    expect(page.get_by_text("Wint got up")).to_have_count(0)
    page.get_by_role("button", name="Undo: Wind got up").click()
    expect(page.get_by_role("button", name="Undo: Wind got up")).to_have_count(0)


def test_contract_a_group_check_alone_leads_to_the_kit_and_stands_there(visit: Visiting) -> None:
    visited = visit()
    stamp = {"phone": "pc", "of": "check-alone", "page": "g"}
    items = [
        {"kind": "check", "extent": "full", "leader": "Yuki", "run": None},
        {"kind": "checked", "stage": "transmits", "person": "s1", "name": "Ines", "set": "HL-01"}
        | {"errors": True, "look_at": ["errors"], "by": "Bram"},
        {"kind": "check_end", "not_checked": []},
    ]
    lines = [
        ITEMS[str(one["kind"])].model_validate(
            {**stamp, **one, "id": f"ca-{n}", "n": n, "wall_ms": 1_771_061_400_000 + n, "since_page_ms": n}
        )
        for n, one in enumerate(items, 1)
    ]
    content = write_day_file(head=HeadLine(made_by="t", made_ms=1), phones=[PhoneLine(id="pc")], items=lines)
    app = visited.open("/drills")
    expect(app.get_by_role("heading", level=1)).to_be_visible()
    dropped(app, ("check.coldfield-day.txt", content))
    checks = app.get_by_role("region", name="Group checks")
    expect(checks).to_contain_text("Yuki, Bram")
    expect(checks).to_contain_text("it shows an error")
    assert "/kit" in app.url
