"""The debrief page in a browser, from a file, with nothing else to load."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from accessibility import axe
from coldfield.app.answers import said
from coldfield.app.debriefs.from_files import debrief, load_run
from coldfield.files.debrief_html import debrief_html
from coldfield.files.debrief_json import read_debrief
from drops import dropped
from invented_run import invented_run, large_run

Open = Callable[..., Page]


@pytest.fixture
def show(browser: Browser, tmp_path: Path) -> Iterator[Open]:
    """Open a debrief from a file; afterwards check that the page made no requests and had no errors."""
    trouble: list[str] = []
    contexts = []

    def opened(document: dict[str, Any] | None = None, hash_: str = "", **options: Any) -> Page:
        file = tmp_path / "debrief.html"
        shown = read_debrief(invented_run() if document is None else document)
        file.write_text(debrief_html(shown), encoding="utf-8")
        options.setdefault("viewport", {"width": 1280, "height": 800})
        context = browser.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: trouble.append(f"console: {message.text}"))
        page.on("pageerror", lambda error: trouble.append(f"error: {error}"))
        page.on("request", lambda request: trouble.append(request.url) if _foreign(request.url) else None)
        page.goto(file.as_uri() + hash_)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert trouble == []


def _foreign(url: str) -> bool:
    return not url.startswith(("file://", "data:"))


def _now(page: Page) -> int:
    return int(page.get_by_role("slider").input_value())


def test_contract_shows_plan_findings_and_table_from_one_file(show: Open) -> None:
    page = show()

    expect(page).to_have_title("Two on the lower fan")
    expect(page.get_by_role("heading", level=1)).to_have_text("Where did the minutes go?")
    expect(page.get_by_text("Simulated: made in the computer")).to_be_visible()
    expect(page.get_by_role("application", name=re.compile("Plan of the run"))).to_be_visible()
    expect(page.get_by_role("heading", name="5 findings")).to_be_visible()
    expect(page.get_by_role("rowheader", name="Ines").first).to_be_visible()
    assert page.locator("svg .person-line").count() == 3


def test_contract_a_finding_jumps_to_its_moment_and_place(show: Open) -> None:
    page = show()

    page.get_by_role("button", name=re.compile("The first 28 m of the coarse search")).click()

    assert _now(page) == 104
    expect(page.get_by_role("button", name="Whole ground")).to_be_visible()
    plan = page.get_by_role("application").bounding_box()
    ring = page.locator(".finding.chosen .here").bounding_box()
    assert plan is not None
    assert ring is not None
    # In the middle of the space left by the legend (172) and the margins (8 to 54), with 2 px for rounding.
    assert ring["x"] + ring["width"] / 2 == pytest.approx(
        plan["x"] + (plan["width"] + 30 + 172 - 8) / 2, abs=2
    )
    assert ring["y"] + ring["height"] / 2 == pytest.approx(plan["y"] + (plan["height"] + 8 - 54) / 2, abs=2)
    expect(page).to_have_url(re.compile("t=104.*finding=2"))


def test_contract_plays_pauses_and_scrubs(show: Open) -> None:
    page = show()
    assert _now(page) == 760

    page.get_by_role("button", name="Play again").click()
    page.get_by_role("button", name="16× as fast").click()
    expect(page.get_by_role("slider")).to_have_value(re.compile(r"^([5-9]|\d\d\d?)$"))
    page.get_by_role("button", name="Pause").click()
    stopped = _now(page)
    assert 4 < stopped < 300

    page.get_by_role("slider").focus()
    page.keyboard.press("ArrowRight")
    assert _now(page) == stopped + 1


def test_contract_an_address_opens_where_it_was_left(show: Open) -> None:
    page = show(hash_="#t=150&who=s2&layers=tracks.burials")

    assert _now(page) == 150
    assert page.locator("svg .person-line").count() == 1
    expect(page.get_by_role("checkbox", name="gaps")).not_to_be_checked()
    page.get_by_role("checkbox", name="gaps").check()
    expect(page).to_have_url(re.compile(r"layers=tracks\.gaps\.burials"))


def test_contract_keys_do_what_the_mouse_does(show: Open) -> None:
    page = show()
    page.keyboard.press("n")
    page.keyboard.press("n")
    assert _now(page) == 104
    page.keyboard.press("Shift+ArrowRight")
    assert _now(page) == 114
    page.keyboard.press("a")
    expect(page.get_by_role("button", name="Ines", exact=True)).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("1")
    expect(page.get_by_role("checkbox", name="tracks")).not_to_be_checked()
    page.keyboard.press("w")
    expect(page.get_by_text("W leaves")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def test_contract_each_table_explains_its_figures_on_demand(show: Open) -> None:
    page = show()

    for name in ("Phases", "Tracks", "Burials", "Ground", "What could be heard"):
        section = page.locator("section", has=page.get_by_role("heading", name=name, exact=True))
        how = section.get_by_text("Where this comes from")
        expect(section.locator("details p").first).to_be_hidden()
        how.click()
        expect(section.locator("details p").first).to_be_visible()
    page.emulate_media(media="print")
    expect(page.get_by_text("Where this comes from").first).to_be_hidden()


def test_contract_what_is_said_of_trials_is_what_the_trials_found(show: Open) -> None:
    accuracy = (Path(__file__).parents[2] / "docs" / "debrief_accuracy.md").read_text(encoding="utf-8")
    found = re.search(r"\| all \| (\d+) \| (\d+): ([\d.]+) %", accuracy)
    assert found
    said, contradicted, share = found.groups()

    expect(show().get_by_text(f"{contradicted} of {said} findings were contradicted ({share}")).to_have_count(
        1
    )


def test_contract_the_wall_shows_one_finding_and_no_survival(show: Open) -> None:
    page = show(viewport={"width": 1920, "height": 1080})
    page.get_by_role("button", name="Wall").click()
    page.keyboard.press("n")

    expect(page.get_by_text("1 of 5")).to_be_visible()
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"
    assert "urviv" not in page.locator("main").inner_text()
    assert page.evaluate("document.documentElement.scrollHeight") <= 1080


def test_contract_the_wall_opens_at_the_start_with_the_groups_time_and_words_for_a_whole_room(
    show: Open, demo_files: Path
) -> None:
    run = load_run(
        demo_files / "drill.json",
        sorted((demo_files / "tracks").glob("*.gpx")),
        splits=demo_files / "splits.csv",
    )
    document = said(debrief(run).document)
    page = show(document)
    page.get_by_role("button", name="Wall").click()
    cleared = max(one["clear_s"] for one in document["burials"])
    expect(page.locator(".clock")).to_have_text(f"{cleared // 60:.0f} min {cleared % 60:.0f} s")
    assert cleared < document["run"]["end_s"]
    assert _now(page) == 0
    sizes = page.evaluate("""() => [...document.querySelectorAll('.plan svg text')].map((text) => {
        const [shown, own] = [text.getBoundingClientRect(), text.getBBox()]
        const times = Math.max(shown.width, shown.height) / Math.max(own.width, own.height)
        return parseFloat(getComputedStyle(text).fontSize) * times
    })""")
    rest = page.evaluate("""() => [...document.querySelectorAll('.wall :is(p, li, span, button)')]
        .filter((one) => one.innerText && one.offsetParent).map((one) => parseFloat(getComputedStyle(one).fontSize))""")
    assert len(sizes) > 5
    assert min(sizes) >= 19.9
    assert min(rest) >= 20


def test_contract_swept_ground_grows_with_the_replay(show: Open, demo_files: Path) -> None:
    run = load_run(demo_files / "drill.json", sorted((demo_files / "tracks").glob("*.gpx")))
    document = said(debrief(run).document)
    searched = max(
        phase["end_s"]
        for one in document["searchers"]
        for phase in one["phases"]
        if phase["phase"] == "signal"
    )
    page = show(document, hash_="#t=30")
    expect(page.locator(".so-far path")).to_have_count(1)
    expect(page.locator("path.swept")).to_have_count(0)
    before = page.locator(".so-far path").get_attribute("d") or ""
    page.get_by_role("slider").fill("60")
    expect(page.locator(".so-far path")).not_to_have_attribute("d", before)
    page.get_by_role("slider").fill(str(int(searched) + 1))
    expect(page.locator("path.swept")).to_have_count(1)


def test_contract_survival_is_shown_on_demand_only(show: Open) -> None:
    page = show()
    expect(page.get_by_text("A: 0.75 to 0.92, by curve")).to_have_count(0)
    page.get_by_role("button", name="What the minutes mean for survival").click()
    expect(page.get_by_text("A: 0.75 to 0.92, by curve")).to_be_visible()


def test_contract_the_place_under_the_pointer_reports_in_a_sentence(show: Open) -> None:
    page = show(hash_="#t=700")
    mark = page.locator(".burial rect").first.bounding_box()
    assert mark is not None
    page.mouse.move(mark["x"] + 5, mark["y"] + 5)
    expect(page.locator("p.place")).to_contain_text("from burial A, 0.8 m deep.")
    expect(page.locator("p.place")).to_contain_text("A level receiver shows 10 m or less for A here.")


def test_contract_the_plan_zooms_and_moves_by_wheel_drag_and_keys(show: Open) -> None:
    page = show()
    plan = page.get_by_role("application")
    whole = page.get_by_role("button", name="Whole ground")
    box = plan.bounding_box()
    assert box is not None
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)

    plan.focus()
    page.mouse.move(*middle)
    page.mouse.wheel(0, -400)
    expect(whole).to_be_visible()
    before = page.locator(".burial rect").first.bounding_box()
    page.mouse.down()
    page.mouse.move(middle[0] + 50, middle[1] + 20, steps=4)
    page.mouse.up()
    after = page.locator(".burial rect").first.bounding_box()
    assert before is not None
    assert after is not None
    # The sheet follows the mouse: within 2 px, for rounding.
    assert (after["x"] - before["x"], after["y"] - before["y"]) == pytest.approx((50, 20), abs=2)
    page.keyboard.press("ArrowRight")
    moved = page.locator(".burial rect").first.bounding_box()
    assert moved is not None
    assert moved["x"] < after["x"]
    whole.click()
    expect(whole).to_have_count(0)


def test_contract_an_unswept_place_jumps_to_the_plan(show: Open) -> None:
    page = show()
    page.get_by_role("button", name="57 m east, 13 m north").click()
    expect(page.get_by_role("button", name="Whole ground")).to_be_visible()


def test_contract_follows_an_address_that_changes(show: Open) -> None:
    page = show()
    expect(page.get_by_role("slider")).to_have_value("760")
    page.evaluate("location.hash = '#t=33&theme=dark'")
    expect(page.get_by_role("slider")).to_have_value("33")
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"


def test_contract_single_keys_can_be_turned_off(show: Open) -> None:
    # WCAG 2.1, success criterion 2.1.4: keys of one character can be turned off.
    page = show()
    page.get_by_text("Keys", exact=True).click()
    page.get_by_label("Single keys work").uncheck()
    page.locator("h1").click()
    page.keyboard.press("w")
    expect(page.get_by_role("heading", level=1)).to_have_text("Where did the minutes go?")


PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


@pytest.mark.parametrize(
    ("hash_", "options"),
    [
        ("#finding=1", {"color_scheme": "light"}),
        ("#finding=2&t=150&who=s2", {"color_scheme": "dark"}),
        ("#finding=1&wall=1", {}),
        ("", PHONE),
    ],
    ids=["light", "dark", "wall", "phone"],
)
def test_published_rules_of_wcag_find_no_fault(show: Open, hash_: str, options: dict[str, Any]) -> None:
    page = show(hash_=hash_, **options)
    survival = page.get_by_role("button", name="What the minutes mean for survival")
    if survival.count():
        survival.click()
    assert axe(page) == []


def test_contract_fits_a_phone_findings_first(show: Open) -> None:
    page = show(**PHONE)
    plan = page.get_by_role("application").bounding_box()
    findings = page.get_by_role("heading", name="5 findings").bounding_box()
    assert plan is not None
    assert findings is not None
    assert findings["y"] < 400
    assert findings["y"] < plan["y"]
    # Tables are on demand, cautions are not.
    expect(page.get_by_role("heading", name="Cautions")).to_be_visible()
    expect(page.get_by_role("heading", name="Phases")).to_have_count(0)
    page.get_by_role("button", name="Show tables and notes").click()
    expect(page.get_by_role("heading", name="Phases")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == 390


def test_contract_on_a_phone_a_finding_brings_the_plan_back(show: Open) -> None:
    page = show(**PHONE)
    page.get_by_role("button", name=re.compile("310 m² in the south-east corner")).click()
    plan = page.get_by_role("application").bounding_box()
    assert plan is not None
    assert -20 <= plan["y"] < 200
    expect(page.get_by_text("3 of 5", exact=True)).to_be_visible()
    page.get_by_role("button", name="Next finding").click()
    expect(page.get_by_text("4 of 5", exact=True)).to_be_visible()
    assert _now(page) == 296


def test_contract_prints_on_paper(show: Open, tmp_path: Path) -> None:
    page = show(color_scheme="dark")
    paper = page.pdf(prefer_css_page_size=True)
    assert paper.startswith(b"%PDF")
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", paper)) <= 4


def test_contract_shows_what_the_program_writes(show: Open, demo_files: Path) -> None:
    tracks = sorted((demo_files / "tracks").iterdir())
    run = load_run(demo_files / "drill.json", tracks, splits=demo_files / "splits.csv")
    document = said(debrief(run, simulated=True).document)

    page = show(document)

    expect(page).to_have_title(document["title"])
    assert page.locator("svg .person-line").count() == 4
    for number, finding in enumerate(document["findings"], start=1):
        expect(page.locator("#findings li").nth(number - 1)).to_contain_text(finding["text"])


def _bare() -> dict[str, Any]:
    whole = invented_run()
    return {key: whole[key] for key in ("format", "run", "site")}


def test_contract_says_what_is_missing(show: Open) -> None:
    page = show(_bare())
    expect(page.get_by_text("Nothing to replay: there is no track for this run.")).to_be_visible()
    expect(page.get_by_text("No findings: nothing in this run stands out")).to_be_visible()
    expect(page.get_by_text("No phases could be distinguished")).to_be_visible()


def test_contract_odd_but_lawful_documents_are_shown(show: Open) -> None:
    document = invented_run()
    for key in ("contours", "audible"):
        document["hearing"][key] = document["hearing"][key] * 2
    document["findings"] = document["findings"] * 2
    document["gaps"].append({"position_m": [1, 1], "area_m2": None, "width_m": None})
    document["searchers"] = document["searchers"][:1]
    document["searchers"][0]["track"]["pieces"] = [{"t_s": [5.0], "position_m": [[3, 3]]}]
    page = show(document)
    expect(page.get_by_role("heading", name="10 findings")).to_be_visible()
    expect(page.get_by_role("button", name="Everyone")).to_have_count(0)


def test_contract_hostile_names_stay_words(show: Open) -> None:
    document = invented_run()
    name = "</script><img src=x onerror=alert(1)><b>"
    document["searchers"][0]["name"] = document["title"] = name
    page = show(document)
    expect(page).to_have_title(name)
    expect(page.get_by_role("rowheader", name=name).first).to_be_visible()
    assert page.locator("img").count() == 0


def test_contract_twelve_people_for_an_hour_replay_without_stutter(show: Open) -> None:
    page = show(large_run(), hash_="#t=1800")
    meter = page.context.new_cdp_session(page)
    # Measure the time of the page's own thread, so that other work on the machine does not count.
    meter.send("Performance.enable", {"timeDomain": "threadTicks"})

    def worked_s() -> float:
        metrics = meter.send("Performance.getMetrics")["metrics"]
        return float(next(m["value"] for m in metrics if m["name"] == "TaskDuration"))

    page.get_by_role("button", name="Play", exact=True).click()
    before, start_s = worked_s(), _now(page)
    pictures = page.evaluate(
        """() => new Promise((done) => {
            let n = 0; const from = performance.now()
            requestAnimationFrame(function step(now) {
                n++
                if (now - from < 2000) requestAnimationFrame(step)
                else done(n)
            })
        })"""
    )
    assert _now(page) > start_s
    # At 30 frames a second there is one every 33 ms.
    assert (worked_s() - before) / pictures < 0.033


def test_contract_a_file_dropped_on_the_page_to_hand_out_is_told_where_it_goes(show: Open) -> None:
    page = show()
    address = page.url.partition("#")[0]
    dropped(page, ("ines.gpx", b"<gpx/>"))
    expect(
        page.get_by_role("status").filter(has_text="takes no files. Drop the file into Coldfield itself")
    ).to_be_visible()
    assert page.url.partition("#")[0] == address
    page.keyboard.press("Escape")
    expect(page.get_by_text("takes no files")).to_have_count(0)
