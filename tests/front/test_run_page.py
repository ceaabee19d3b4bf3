"""The evening after, in the browser: a run gathered from files and typed, debriefed, shown on the wall."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from accessibility import axe
from amount import amount
from visiting import LAPTOP, PHONE, PROJECTOR, Visiting

STEPS = ["run", "splits", "tracks", "buried", "clocks", "standards", "debrief"]
DEMO = "/runs/demo-run"
JOB_MS = 120_000
BAD_SPLITS = "time,searcher,burial,split\nyesterday,ines,,alarm\n2026-02-14T09:33:00Z,nobody,Z,probe_strike\n"


def begin_a_run(page: Page, name: str) -> None:
    page.get_by_role("button", name="New run").click()
    page.get_by_label("Name of the run").fill(name)
    page.get_by_label("Day and time").fill("2026-02-14T09:30")
    page.get_by_role("button", name="Begin the run").click()
    expect(page.get_by_role("heading", name="Who searched, and when?")).to_be_visible()


def step(page: Page, name: str) -> None:
    page.get_by_role("navigation", name="Steps of the evening").get_by_role("link", name=name).click()


def drop(page: Page, name: str, content: bytes) -> None:
    """Drop a file onto the drop zone, as from a desktop folder."""
    held = page.evaluate_handle(
        """([name, text]) => {
            const data = new DataTransfer()
            data.items.add(new File([text], name))
            return data
        }""",
        [name, content.decode()],
    )
    place = page.get_by_role("button", name="Choose").locator("..")
    place.dispatch_event("dragover", {"dataTransfer": held})
    place.dispatch_event("drop", {"dataTransfer": held})


def test_contract_a_run_is_begun_gathered_from_files_and_debriefed(
    fresh_site: str, visit: Visiting, demo_files: Path
) -> None:
    visited = visit(fresh_site)
    visited.troubled = True  # the browser reports each refusal, and refusals are expected here
    page = visited.open("/runs")
    begin_a_run(page, "Run 2, from files")
    expect(page.get_by_label("Yuki", exact=True)).to_have_value("yuki")  # the searcher of the last run
    step(page, "Tracks")
    tracks = [
        {"name": f"{name}.gpx", "mimeType": "", "buffer": (demo_files / "tracks" / f"{of}.gpx").read_bytes()}
        for name, of in (("ines", "ines"), ("tomas", "bram"), ("phone 12", "yuki"))
    ]
    page.locator("input[type=file]").set_input_files(
        [*tracks, {**tracks[0], "name": "bad.gpx", "buffer": b"<html>"}]
    )
    expect(page.get_by_text("bad.gpx: ")).to_be_visible()
    rows = page.locator("ul.tracks > li")
    expect(rows).to_have_count(3)
    wrong = rows.filter(has_text="tomas.gpx")
    expect(wrong.get_by_text("by the name of the file")).to_be_visible()
    expect(rows.filter(has_text="phone 12.gpx").get_by_text("by the name of the track in it")).to_be_visible()
    wrong.get_by_label("Whose").select_option(label="Bram")
    expect(wrong.get_by_text("set by you")).to_be_visible()
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(wrong.get_by_label("Whose")).to_have_value("tomas")
    page.get_by_role("button", name="Redo", exact=True).click()
    expect(wrong.get_by_label("Whose")).to_have_value("bram")
    rows.filter(has_text="ines.gpx").get_by_role("button", name="Remove ines.gpx").click()
    expect(rows).to_have_count(2)
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    expect(rows).to_have_count(3)

    step(page, "Splits")
    drop(page, "splits.csv", BAD_SPLITS.encode())
    expect(page.get_by_text("3 faults, nothing was kept")).to_be_visible()
    expect(page.get_by_text("line 3: burial")).to_be_visible()
    drop(page, "splits.csv", (demo_files / "splits.csv").read_bytes())
    page.get_by_role("button", name=re.compile("Keep these .* rows")).click()
    expect(page.get_by_label("Alarm at")).to_have_value(re.compile(r"^\d\d:30:00$"))
    assert page.get_by_label("Time of probe strike").count() == 2

    step(page, "Debrief")
    page.get_by_role("button", name="Debrief this run").click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    page.reload()  # in the middle of the work
    expect(page.get_by_role("heading", name=re.compile("finding"))).to_be_visible(timeout=JOB_MS)
    expect(page.get_by_role("heading", name="Where did the minutes go?")).to_be_visible()
    page.goto(page.url.partition("?")[0].rpartition("/")[0])
    page.get_by_label("Find").fill("from files yuki")
    expect(page.get_by_role("listitem").filter(has_text="Run 2, from files")).to_contain_text("Debriefed")
    expect(page.locator(".cards > li")).to_have_count(1)


def test_contract_a_split_is_typed_changed_taken_away_and_had_back(visit: Visiting) -> None:
    page = visit().open(DEMO + "?step=splits")
    entry = page.get_by_role("form", name="Add a split")
    entry.get_by_label("Time").fill("soon")
    entry.get_by_label("Split").fill("Probe strike")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert").filter(has_text="Write the time as 4:20")).to_be_visible()
    entry.get_by_label("Time").fill("3:59")
    entry.get_by_label("Time").press("Enter")
    field = page.get_by_label("Time of probe strike 3:59")
    expect(field).to_be_visible()
    expect(entry.get_by_label("Time")).to_be_focused()
    field.fill("4:01")
    field.press("Enter")
    expect(page.get_by_label("Time of probe strike 4:01")).to_be_visible()
    page.keyboard.press("Control+z")
    expect(field).to_be_visible()
    page.get_by_role("button", name="Remove probe strike 3:59").click()
    expect(field).to_have_count(0)
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    expect(field).to_be_visible()
    page.reload()
    expect(field).to_be_visible()
    step(page, "Debrief")
    expect(page.get_by_text("Changed since this debrief was made: splits and observations.")).to_be_visible()
    page.go_back()
    page.get_by_role("button", name="Remove probe strike 3:59").click()
    expect(field).to_have_count(0)


def add_split(page: Page, time: str, split: str, burial: str) -> None:
    entry = page.get_by_role("form", name="Add a split")
    entry.get_by_label("Time").fill(time)
    entry.get_by_label("Split").fill(split)
    entry.get_by_label("Burial").select_option(burial)
    entry.get_by_label("Time").press("Enter")


def test_contract_a_run_of_the_stopwatch_alone_is_debriefed_and_asks_which_split_counts(
    fresh_site: str, visit: Visiting
) -> None:
    page = visit(fresh_site, timezone_id="America/Vancouver").open("/runs")
    begin_a_run(page, "Stopwatch alone")
    expect(page.get_by_text(re.compile("Matched by the same name: Ines, Bram"))).to_be_visible()
    step(page, "Debrief")
    expect(page.get_by_text("A debrief needs a track, a split or an observation.")).to_be_visible()

    step(page, "Splits")
    for time, split in (("1:35", "First signal"), ("3:50", "Probe strike"), ("4:00", "strike")):
        add_split(page, time, split, "A")
    add_split(page, "9:00", "Airway clear", "A")
    expect(page.get_by_text("the time entered for the run, 09:30:00")).to_be_visible()
    again = page.get_by_role("group", name="Splits entered more than once")
    expect(again.get_by_text("probe strike of A was entered 2 times. Which one counts?")).to_be_visible()
    step(page, "Debrief")
    expect(page.get_by_text("1 split was entered more than once")).to_be_visible()
    step(page, "Splits")
    again.get_by_role("button", name="Keep only this: 3:50").click()
    expect(again).to_have_count(0)
    expect(page.get_by_label("Time of strike 4:00")).to_have_count(0)

    step(page, "Debrief")
    page.get_by_role("button", name="Debrief this run").click()
    expect(page.get_by_text("No track was recorded")).to_be_visible(timeout=JOB_MS)
    expect(page.get_by_text("alarm 09:30 CET (Europe/Oslo), as entered for the run")).to_be_visible()
    page.get_by_role("button", name="UTC").click()
    expect(page.get_by_text("alarm 08:30 UTC, as entered for the run")).to_be_visible()
    digging = page.get_by_role("row", name=re.compile("^A 0.9 m")).get_by_role("cell")
    expect(digging.filter(has_text="helpers unknown")).to_be_visible()
    page.get_by_role("button", name="Wall").click()
    expect(page.get_by_text("Not all burials were struck in this run.")).to_be_visible()


def test_contract_a_run_of_observations_alone_is_a_list_that_counts(fresh_site: str, visit: Visiting) -> None:
    page = visit(fresh_site).open("/runs")
    begin_a_run(page, "Seen only")
    step(page, "Splits")
    entry = page.get_by_role("form", name="Add an observation")
    for seen in ("yes", "no"):
        entry.get_by_label("What was seen").fill("call made")
        entry.get_by_label("Seen?").select_option(label=seen)
        entry.get_by_role("button", name="Add").click()
    step(page, "Debrief")
    expect(page.get_by_text("a list of what was seen")).to_be_visible()
    page.get_by_role("button", name="Debrief this run").click()
    expect(page.get_by_role("heading", name="What was seen?")).to_be_visible(timeout=JOB_MS)
    expect(page.get_by_role("row", name="call made 1 1")).to_be_visible()
    expect(page.get_by_text("Practise only the first minute")).to_be_visible()


def test_contract_a_row_waits_in_the_browser_while_the_service_fails(visit: Visiting) -> None:
    visited = visit()
    visited.troubled = True
    page = visited.open(DEMO + "?step=splits")
    failing = True

    def fail(route: Route) -> None:
        if failing and route.request.method == "PUT":
            route.fulfill(status=503, json={"title": "busy", "status": 503, "detail": "locked", "faults": []})
        else:
            route.continue_()

    page.route("**/api/splits/*", fail)
    entry = page.get_by_role("form", name="Add a split")
    entry.get_by_label("Time").fill("5:00")
    entry.get_by_label("Split").fill("shovels out")
    page.keyboard.press("Enter")
    expect(page.get_by_text("kept in this browser").first).to_be_visible()
    page.reload()
    row = page.get_by_label("Time of shovels out 5:00")
    expect(row).to_be_visible()
    failing = False
    expect(page.get_by_text("kept in this browser")).to_have_count(0, timeout=15_000)
    page.get_by_role("button", name="Remove shovels out 5:00").click()
    expect(row).to_have_count(0)


def test_contract_burials_clocks_and_standards_are_changed_and_undone(visit: Visiting) -> None:
    page = visit().open(DEMO + "?step=buried")
    lay_a = page.get_by_role("group", name=re.compile("^A"))
    expect(lay_a.get_by_text("as planned")).to_be_visible()
    depth = lay_a.get_by_label("Depth")
    deeper = 1.4 - float(depth.input_value())
    depth.fill("1.4")
    depth.press("Enter")
    expect(lay_a.get_by_text(f"{deeper:.1f} m deeper")).to_be_visible()
    step(page, "Clocks")
    clock = page.get_by_label("Splits", exact=True)
    clock.fill("-0:30")
    clock.blur()
    expect(page.get_by_role("row", name="Splits").get_by_text("typed here")).to_be_visible()
    step(page, "Standards")
    page.get_by_role("button", name="Take this time").first.click()
    expect(page.get_by_role("row", name="Alarm to airway clear")).to_contain_text("10:00")
    step(page, "Debrief")
    expect(
        page.get_by_text(re.compile("Changed since.*where the sets lay, clocks and standards"))
    ).to_be_visible()
    step(page, "Standards")
    for _ in range(3):
        page.get_by_role("button", name="Undo", exact=True).click()
    step(page, "As buried")
    expect(page.get_by_text("So far the debrief uses the burials as planned")).to_be_visible()


def test_contract_burials_as_they_lay_are_moved_on_the_plan_left_out_and_added(visit: Visiting) -> None:
    page = visit().open(DEMO + "?step=buried")
    mark, lay_a = (
        page.get_by_role("button", name=re.compile("^Burial A,")),
        page.get_by_role("group", name=re.compile("^A")),
    )
    place = mark.locator("rect").bounding_box()
    assert place
    page.mouse.move(place["x"] + 6, place["y"] + 6)
    page.mouse.down()
    page.mouse.move(place["x"] + 40, place["y"] + 6, steps=4)
    page.mouse.up()
    expect(lay_a.get_by_text("m from its plan")).to_be_visible()
    mark.press("ArrowRight")
    turn = page.get_by_role("slider", name="Direction of the antenna of burial A")
    turn.press("ArrowRight")
    expect(lay_a.get_by_text("turned by 5°")).to_be_visible()
    page.get_by_role("slider", name="Tilt of the antenna of burial A").press("ArrowUp")
    expect(lay_a.get_by_text("tilted by 5°")).to_be_visible()
    page.get_by_role("button", name="Was not hidden: B").click()
    expect(page.get_by_text("B was not hidden.").first).to_be_visible()
    page.get_by_role("button", name="Add a burial that was not planned").click()
    page.mouse.click(place["x"] + 120, place["y"])
    expect(page.get_by_text("not planned", exact=True)).to_be_visible()
    expect(page.get_by_text("saved", exact=True)).to_be_visible()
    assert axe(page) == []
    page.reload()
    expect(page.get_by_text("not planned", exact=True)).to_be_visible()
    page.get_by_role("button", name="Put B back").click()
    expect(page.get_by_role("group", name=re.compile("^B"))).to_be_visible()
    page.get_by_role("button", name="Use the plan again").click()
    expect(lay_a.get_by_text("as planned")).to_be_visible()
    expect(page.get_by_text("saved", exact=True)).to_be_visible()


@pytest.mark.parametrize("locale", ["en-GB", "fr-FR"][: amount(1, desk=2)])
def test_contract_plan_play_bar_and_ribbons_keep_their_height_beside_a_notice(
    visit: Visiting, locale: str
) -> None:
    def older(route: Route) -> None:
        answer = route.fetch()
        route.fulfill(response=answer, json={**answer.json(), "older_model": True})

    visited = visit(viewport=LAPTOP, locale=locale)
    visited.context.route("**/api/runs/*/standing*", older)
    page = visited.open(DEMO)
    expect(page.locator(".notice .doubt")).to_be_visible()
    plan, ribbons, words = (
        page.locator(one).bounding_box() for one in ("[data-sheet]", ".replay", "#findings")
    )
    notice = page.locator(".notice").bounding_box()
    assert plan is not None
    assert ribbons is not None
    assert notice is not None
    assert words is not None
    assert plan["height"] >= 320
    assert ribbons["y"] + ribbons["height"] <= 900
    assert notice["y"] + notice["height"] <= words["y"]


def test_contract_the_wall_has_an_address_of_its_own_and_keys(visit: Visiting) -> None:
    page = visit(viewport=PROJECTOR).open(DEMO)
    expect(page.get_by_role("heading", name="Where did the minutes go?")).to_be_visible()
    page.keyboard.press("w")
    expect(page).to_have_url(re.compile("view=wall"))
    expect(page.locator("html")).to_have_attribute("data-theme", "dark")
    expect(page.get_by_role("navigation")).to_have_count(0)
    page.keyboard.press("n")
    expect(page.get_by_text(re.compile(r"^1 of \d+$"))).to_be_visible()
    assert page.get_by_text("urvival").count() == 0
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")
    expect(page).to_have_url(re.compile("finding=1"))
    page.reload()
    expect(page.get_by_text(re.compile(r"^1 of \d+$"))).to_be_visible()
    assert axe(page) == []
    page.keyboard.press("Escape")
    expect(page.get_by_role("heading", name="Where did the minutes go?")).to_be_visible()
    page.go_back()
    expect(page).to_have_url(re.compile("view=wall"))


def test_contract_the_page_to_hand_out_opens_as_a_file_in_the_language_in_use(
    visit: Visiting, tmp_path: Path
) -> None:
    visited = visit(locale="de-AT")
    page = visited.open(DEMO)
    with page.expect_download() as loading:
        page.get_by_role("link", name="Seite zum Weitergeben").click()
    loading.value.save_as(tmp_path / "debrief.html")
    with page.expect_download() as tracks:
        page.get_by_role("link", name="Bereinigte Aufzeichnungen").click()
    assert tracks.value.suggested_filename == "Two in the lower bowl, Run 1, made in the computer tracks.gpx"
    with page.expect_download() as phases:
        page.get_by_role("link", name="Phasen (CSV)").click()
    assert phases.value.suggested_filename == "Two in the lower bowl, Run 1, made in the computer phases.csv"
    alone = visited.context.new_page()
    alone.goto((tmp_path / "debrief.html").as_uri())
    expect(alone.get_by_role("heading", name="Wo blieben die Minuten?")).to_be_visible()
    expect(alone.get_by_text("Leitung bestimmt").first).to_be_visible()
    assert alone.locator("[lang=en]").count() == 0


@pytest.mark.parametrize(("size", "scheme", "locale"), [(LAPTOP, "light", "en-GB"), (PHONE, "dark", "de-AT")])
def test_published_axe_finds_nothing_to_mend_on_any_step(
    visit: Visiting, size: dict[str, int], scheme: str, locale: str
) -> None:
    visited = visit(viewport=size, color_scheme=scheme, locale=locale)
    page = visited.open("/runs?new=1")
    expect(page.locator(".cards > li").first).to_be_visible()
    assert axe(page) == []
    for name in STEPS:
        page.goto(f"{visited.site}{DEMO}?step={name}")
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        assert axe(page) == [], name
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name


def test_contract_nothing_yet_and_nothing_found_are_said(empty_site: str, visit: Visiting) -> None:
    visited = visit(empty_site)
    visited.troubled = True  # an unknown address is a 404
    page = visited.open("/runs")
    expect(page.get_by_text("No run is recorded yet.")).to_be_visible()
    page.get_by_role("button", name="New run").click()
    expect(page.get_by_text("A run needs a drill first.")).to_be_visible()
    assert axe(page) == []
    page.goto(empty_site + "/runs/nothing")
    expect(page.get_by_role("heading", name="There is nothing here")).to_be_visible()
