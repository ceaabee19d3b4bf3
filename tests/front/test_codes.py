"""A run goes to the phone by codes and its day comes back by codes, through cameras; records equal a file's."""

from __future__ import annotations

import json
import re
import shutil
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from playwright.sync_api import Browser, Page, Playwright, expect

from accessibility import axe
from clock_visits import hosted, quiet_page, split, written_run
from code_camera import film, read, seen
from drill_records import asked, new_drill
from drops import dropped
from example_records import DRILL
from visiting import CHROMIUM, FLAGS, HEADLESS, PHONE, Visit, served_here


@pytest.fixture(scope="module")
def camera(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the film for the browser's fake camera; it is reopened together with the camera."""
    path = tmp_path_factory.mktemp("camera") / "seen.y4m"
    film(path, [np.full((72, 128), 128, np.uint8)])
    return path


@pytest.fixture(scope="module")
def filmed(playwright: Playwright, camera: Path) -> Iterator[Browser]:
    """Return a browser with a camera."""
    flags = [
        *FLAGS, "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={camera}",
    ]  # fmt: skip
    program = HEADLESS if HEADLESS.exists() else CHROMIUM
    chromium = playwright.chromium.launch(executable_path=program, args=flags)
    yield chromium
    chromium.close()


def shots(page: Page) -> list[tuple[np.ndarray, int]]:
    """Step through the codes of a page; return each one's picture and its width in squares."""
    code = page.locator("svg[data-code]")
    expect(code).to_be_visible()
    told = re.fullmatch(r"Code \d+ of (\d+)", code.get_attribute("aria-label") or "")
    assert told
    taken = []
    for _ in range(int(told[1])):
        if int(told[1]) > 1:
            # A manual step stops the rotation.
            page.get_by_role("button", name="Next code").click()
        picture = cv2.imdecode(np.frombuffer(code.screenshot(), np.uint8), cv2.IMREAD_GRAYSCALE)
        squares = int((code.get_attribute("viewBox") or "").split()[-1])
        taken.append((np.asarray(picture), squares))
    return taken


def wider(page: Page) -> int:
    """Return how much wider a page is than its window, px."""
    return int(page.evaluate("document.documentElement.scrollWidth - innerWidth"))


STAMPS = {"version", "created_utc", "changed_utc", "deletion_id"}


def record(site: str, run_id: str) -> dict[str, Any]:
    """Return a run's records without their times of writing."""

    def told(one: dict[str, Any]) -> dict[str, Any]:
        return {key: value for key, value in one.items() if key not in STAMPS}

    kinds = ("splits", "observations", "day_items")
    of_run = {kind: asked(site, f"{kind}?run_id={run_id}")["items"] for kind in kinds}
    return {
        **{kind: sorted(map(told, items), key=str) for kind, items in of_run.items()},
        "run": told(asked(site, f"runs/{run_id}")),
        "day": asked(site, f"runs/{run_id}/day"),
    }


def kept_by_file(site: str, drill_id: str, file: bytes) -> None:
    """Keep a day file in records that contain only the drill."""
    asked(site, f"drills/{drill_id}", {"document": DRILL})
    request = urllib.request.Request(f"{site}/api/day-file?file_name=day.txt", data=file, method="POST")
    with urllib.request.urlopen(request, timeout=20) as answer:
        assert json.load(answer)["faults"] == []


def sent_to_the_hut(site: str, drill_id: str, run: dict[str, Any], file: bytes) -> None:
    """Send a phone's day to the run with a keeper's code, as the phone's page does."""
    asked(site, f"drills/{drill_id}", {"document": DRILL})
    told = {key: run[key] for key in ("drill_id", "drill_version", "held_utc", "name") if key in run}
    asked(site, f"runs/{run['id']}", told)
    code = asked(site, f"runs/{run['id']}/phone-codes", {"may": "keeper"}, "POST")
    lines = [json.loads(line.partition(b" ")[2]) for line in file.splitlines()]
    items = [one for one in lines if one["line"] == "item"]
    request = urllib.request.Request(
        f"{site}/api/hut/day",
        data=file,
        headers={
            "x-coldfield-code": code["typed"],
            "x-coldfield-phone": items[0]["phone"],
            "content-type": "text/plain",
        },
        method="POST",
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        assert json.load(answer) == {"have": [one["id"] for one in items], "not_taken": []}


def test_contract_a_run_goes_out_and_its_day_comes_back_by_codes_as_by_a_file_and_through_the_hut(
    filmed: Browser, camera: Path, empty_site: str, empty_records: Path, tmp_path: Path
) -> None:
    visit = Visit(filmed, empty_site)
    drill_id = new_drill(empty_site)
    app = visit.open(f"/drills/{drill_id}")
    app.get_by_label("Agreed word for a real emergency").fill("Granite")
    app.get_by_label("Your emergency number").fill("1234")
    app.get_by_role("button", name="Show as codes").click()
    expect(app.get_by_text("Searchers must not see them.")).to_be_visible()
    assert axe(app) == []
    out = shots(app)
    # Another reader reads the screen, tilted, blurred, pale and in glare.
    views = [seen(picture, squares=squares) for picture, squares in out]
    assert all(read(view).startswith("CFR1.") for view in views)

    # The phone's camera sees the last code first, a foreign one in between, and all of them equally badly.
    film(camera, [*reversed(views), seen(foreign(), squares=37)])
    trouble: list[str] = []
    phone = quiet_page(filmed.new_context(viewport=PHONE, has_touch=True, locale="en-GB"), trouble)
    phone.goto(f"{empty_site}/clock")
    phone.get_by_role("link", name="Read a prepared run from codes").click()
    expect(phone.get_by_role("button", name="Alarm", exact=True)).to_be_visible()
    run_id = phone.url.rsplit("/", 1)[-1]
    assert phone.url.startswith(f"{empty_site}/clock#run/")
    phone.get_by_role("button", name="Alarm", exact=True).click()
    split(phone, "first signal")
    phone.get_by_role("button", name="leader named").click()
    expect(phone.get_by_role("button", name="leader named")).to_have_attribute("aria-pressed", "true")

    phone.evaluate("location.hash = 'back'")
    with phone.expect_download() as saving:
        phone.get_by_role("button", name="Save as a file").click()
    file = Path(saving.value.path()).read_bytes()
    phone.get_by_role("link", name="Show as codes").click()
    # The codes rotate automatically until somebody stops them.
    code = phone.locator("svg[data-code]")
    expect(code).to_have_attribute("data-code", "1")
    phone.get_by_role("button", name="Pause").click()
    expect(phone.get_by_role("button", name="Go on")).to_be_visible()
    assert (axe(phone), wider(phone)) == ([], 0)
    back = shots(phone)
    views = [seen(picture, squares=squares) for picture, squares in back]
    assert all(read(view).startswith("CFD1.") for view in views)

    film(camera, views)
    app.goto(f"{empty_site}/runs")
    app.get_by_role("button", name="Codes from a phone").click()
    expect(app.get_by_role("heading", name="From the phones")).to_be_visible()
    assert f"/runs/{run_id}?step=splits" in app.url
    by_codes = record(empty_site, run_id)
    assert sorted(one["split"] for one in by_codes["splits"]) == ["alarm", "first_signal"]
    assert [one["about"] for one in by_codes["observations"]] == ["leader_named"]

    # The file of the same day leads to the same records elsewhere, and adds nothing here.
    with served_here(shutil.copytree(empty_records, tmp_path / "by file")) as by_file:
        kept_by_file(by_file, drill_id, file)
        assert record(by_file, run_id) == by_codes
    with served_here(shutil.copytree(empty_records, tmp_path / "by hut")) as by_hut:
        sent_to_the_hut(by_hut, drill_id, by_codes["run"], file)
        assert record(by_hut, run_id) == by_codes
    dropped(app, ("same.coldfield-day.txt", file))
    expect(app.get_by_text("0 new entries, 3 were here already")).to_be_visible()
    phone.get_by_role("button", name="Yes, all of them have been read in").click()
    expect(phone.get_by_text("Everything on this phone has been brought back.")).to_be_visible()
    visit.context.close()
    assert [*trouble, *visit.trouble] == []


def test_contract_an_installed_clock_reads_codes_without_network(
    filmed: Browser, camera: Path, tmp_path: Path
) -> None:
    film(camera, [seen(foreign(), squares=37)])
    trouble: list[str] = []
    with hosted(tmp_path) as host:
        phone = quiet_page(filmed.new_context(viewport=PHONE, locale="en-GB"), trouble)
        phone.goto(host)
        phone.evaluate(
            "navigator.serviceWorker.ready.then((it) => new Promise((on) => it.active.state === 'activated' ? on() : it.active.addEventListener('statechange', on)))"
        )
        phone.context.set_offline(True)
        phone.reload()
        phone.get_by_role("link", name="Read a prepared run from codes").click()
        # Only the reader knows what the camera sees.
        expect(phone.get_by_role("alert")).to_contain_text("not from Coldfield")
        phone.get_by_role("link", name="All runs").click()
        expect(phone.get_by_role("button", name="New run")).to_be_visible()
        phone.context.close()
    assert trouble == []


def foreign() -> np.ndarray:
    import segno

    made = np.array([list(row) for row in segno.make_qr("https://example.org/", version=3).matrix], np.uint8)
    return np.asarray(255 - 255 * np.kron(np.pad(made, 4), np.ones((8, 8), np.uint8)))


def test_contract_an_address_carries_the_run_and_codes_that_do_not_fit_are_told_in_words(
    filmed: Browser, camera: Path, empty_site: str, tmp_path: Path
) -> None:
    run = asked(empty_site, f"drills/{new_drill(empty_site)}/codes")
    film(camera, [seen(foreign(), squares=37)])
    trouble: list[str] = []
    phone = quiet_page(filmed.new_context(viewport=PHONE, locale="en-GB"), trouble)
    sent: list[str] = []
    phone.on("request", lambda request: sent.append(request.url))
    phone.goto(f"{empty_site}/clock#{run['fragment']}")
    expect(phone.get_by_role("button", name="Alarm", exact=True)).to_be_visible()
    assert phone.url.endswith(f"/clock#run/{run['run']}")
    assert not any("CFR1" in address.split("#")[0] for address in sent)

    phone.goto(f"{empty_site}/clock/codes")
    expect(phone.get_by_role("alert")).to_contain_text("not from Coldfield")
    assert (axe(phone), wider(phone)) == ([], 0)
    wrong = run["fragment"].replace(".1.1.", ".1.2.")
    phone.evaluate(f"location.hash = '{wrong}'")
    expect(phone.get_by_role("alert")).to_contain_text("not read correctly")
    # The camera is requested only when somebody wants it.
    expect(phone.get_by_label("What the camera sees")).to_be_hidden()
    phone.get_by_role("alert").get_by_role("button", name="Read a prepared run from codes").click()
    expect(phone.get_by_label("What the camera sees")).to_be_visible()
    assert trouble == []

    # Over plain http there is no camera, and the page says why.
    phone.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false })")
    phone.goto(f"{empty_site}/clock/codes")
    expect(phone.get_by_role("alert")).to_contain_text("Over plain http browsers give a page no camera.")

    # A clock in a single file has no page of codes, and says so.
    phone.goto(written_run(tmp_path).as_uri() + "#/")
    expect(phone.get_by_text("A clock in a single file cannot read codes")).to_be_visible()
    phone.context.close()
