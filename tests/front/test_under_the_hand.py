"""Common trouble while editing: a half-typed field, a redrawn boundary, a run's course, a clock."""

from __future__ import annotations

import re
from uuid import uuid4

from playwright.sync_api import Page, expect

from drill_records import asked, new_drill, stored
from example_records import DRILL
from visiting import Visit, Visiting, saved

SITE = DRILL["site"]


def put(site: str, kind: str, **given: object) -> str:
    record_id = uuid4().hex
    asked(site, f"{kind}/{record_id}", given)
    return record_id


def test_contract_what_is_typed_is_there_after_a_reload_though_the_field_was_not_left(
    visit: Visiting, site: str
) -> None:
    drill_id = new_drill(site)
    page = visit().open(f"/drills/{drill_id}?part=burials")
    page.get_by_role("button", name="A", exact=True).click()
    page.get_by_role("textbox", name="Depth", exact=True).fill("1.35")
    page.get_by_label("Name of the drill").fill("Typed, not left")
    page.reload()
    expect(page.get_by_role("cell", name="1.35 m")).to_be_visible()
    expect(page.get_by_label("Name of the drill")).to_have_value("Typed, not left")
    saved(page)
    assert stored(site, drill_id)["document"]["name"] == "Typed, not left"


def test_contract_typing_is_one_step_of_undo_however_slowly(visit: Visiting, site: str) -> None:
    page = visit().open(f"/drills/{new_drill(site)}?part=burials")
    page.get_by_role("button", name="A", exact=True).click()
    depth = page.get_by_role("textbox", name="Depth", exact=True)
    depth.fill("1.3")
    expect(page.get_by_role("cell", name="1.3 m")).to_be_visible()
    depth.press_sequentially("5")
    expect(page.get_by_role("cell", name="1.35 m").or_(page.get_by_role("cell", name="5 m"))).to_be_visible()
    depth.press("Enter")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("cell", name="0.8 m")).to_be_visible()


def test_contract_a_boundary_drawn_anew_keeps_what_fits_and_says_what_moved(
    visit: Visiting, site: str
) -> None:
    hole = [[10, 10], [20, 10], [20, 20], [10, 20]]
    drill_id = new_drill(site, site=SITE | {"holes_m": [hole], "entry_m": [30, -40]}, burials=[])
    page = visit().open(f"/drills/{drill_id}?part=ground")
    page.get_by_role("button", name="Draw the boundary").click()
    corners = [[5, 5], [55, 5], [55, 75], [5, 75]]
    for east, north in corners:
        page.mouse.click(*on_plan(page, east, north))
    page.mouse.click(*on_plan(page, *corners[0]))
    expect(page.get_by_text(re.compile("The entry was outside: it moved"))).to_be_visible()
    saved(page)
    kept = stored(site, drill_id)["document"]["site"]
    assert kept["holes_m"] == [hole]
    east, north = kept["entry_m"]
    assert abs(north - 5) < 1.5
    assert abs(east - 30) < 1.5


def on_plan(page: Page, east: float, north: float) -> tuple[float, float]:
    """Return the screen position of a place of the example's ground, from two of its corners."""
    place: list[float] = page.evaluate(
        """([east, north]) => {
          const ground = document.querySelector('[data-sheet] svg path.sheet').getScreenCTM()
          return [ground.a * east + ground.e, ground.d * north + ground.f]
        }""",
        [east, north],
    )
    return place[0], place[1]


def run_of(site: str, drill_id: str, **given: object) -> str:
    return put(site, "runs", drill_id=drill_id, held_utc="2026-02-21T09:30:00Z", **given)


def opened(visited: Visit, run_id: str, step: str) -> Page:
    page = visited.open(f"/runs/{run_id}?step={step}")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    return page


def test_contract_a_run_is_put_into_a_course_and_a_day_that_is_made_for_it(
    visit: Visiting, site: str
) -> None:
    course = put(site, "courses", name=f"Course {uuid4().hex[:6]}")
    named = asked(site, f"courses/{course}")["name"]
    put(site, "days", course_id=course, date="2026-02-14")
    run_id = run_of(site, new_drill(site))
    page = opened(visit(timezone_id="UTC"), run_id, "run")
    field = page.get_by_label("Course and day")
    field.select_option(label=f"{named}, 14 February 2026")
    expect(
        page.get_by_text("That day is 14 February 2026; the run was held on 21 February 2026.")
    ).to_be_visible()
    field.select_option(label=f"{named}, 21 February 2026 (new day)")
    expect(page.get_by_text("That day is")).to_have_count(0)
    saved(page)
    day = asked(site, f"days/{asked(site, f'runs/{run_id}')['day_id']}")
    assert (day["course_id"], day["date"]) == (course, "2026-02-21")


def test_contract_a_course_day_starts_a_run_of_that_day(visit: Visiting, site: str) -> None:
    course = put(site, "courses", name=f"Course {uuid4().hex[:6]}")
    day = put(site, "days", course_id=course, date="2026-02-14")
    page = visit().open(f"/courses/{course}")
    page.get_by_role("link", name="Start a run on 14 February 2026").click()
    expect(page.get_by_label("Course and day")).to_have_value(day)
    # The day shows its state, with a card for each run and the next step.
    run_id = run_of(site, new_drill(site), day_id=day)
    put(site, "splits", run_id=run_id, split="probe_strike", time_unix_s=1_771_061_400)
    page.goto(f"{site}/courses/{course}")
    told = page.get_by_role("article", name="14 February 2026")
    expect(told).to_contain_text("1 run · 1 still to be debriefed")
    expect(told.get_by_role("listitem")).to_contain_text("Begun, not debriefed · 1 split")
    told.get_by_role("listitem").get_by_role("link", name="Add tracks").click()
    expect(page).to_have_url(re.compile(f"/runs/{run_id}.step=tracks"))


def test_contract_a_clock_an_hour_or_a_day_off_is_named_and_moved_with_one_press(
    visit: Visiting, site: str
) -> None:
    run_id = run_of(site, new_drill(site), searchers=[{"searcher": "s1"}, {"searcher": "s2"}])
    alarm = 1_771_666_200  # 2026-02-21T09:30:00Z
    for at in (0, 300):
        put(
            site, "splits", run_id=run_id, split="alarm" if not at else "probe_strike", time_unix_s=alarm + at
        )
    for name, day, hour in (("ines", 21, 10), ("bram", 20, 9)):
        drop(site, run_id, f"{name}.gpx", day, hour)
    page = opened(visit(timezone_id="UTC"), run_id, "clocks")
    expect(page.get_by_text("1 h after the splits: its clock may be fast.")).to_be_visible()
    expect(page.get_by_text("1 day before the splits: its clock may be slow.")).to_be_visible()
    page.get_by_role("button", name="Shift it by −60:00").click()
    expect(page.get_by_text("after the splits")).to_have_count(0)
    late = page.get_by_role("row", name=re.compile("bram.gpx")).get_by_role("textbox")
    assert late.get_attribute("aria-describedby")
    late.fill("+24 h")
    late.press("Enter")
    expect(page.get_by_text("before the splits")).to_have_count(0)
    shifts = sorted(one["clock_shift_s"] for one in asked(site, f"runs/{run_id}/tracks"))
    assert shifts == [-3600, 86_400]


def drop(site: str, run_id: str, name: str, day: int, hour: int) -> None:
    import urllib.request

    points = "".join(
        f'<trkpt lat="{61.2 + 0.00002 * k:.5f}" lon="8.1005"><time>2026-02-{day}T{hour:02d}:{30 + k // 6:02d}:'
        f"{10 * (k % 6):02d}Z</time></trkpt>"
        for k in range(36)
    )
    head = '<gpx version="1.1" creator="example" xmlns="http://www.topografix.com/GPX/1/1">'
    gpx = f'<?xml version="1.0"?>{head}<trk><name>{name}</name><trkseg>{points}</trkseg></trk></gpx>'
    request = urllib.request.Request(
        f"{site}/api/runs/{run_id}/tracks?file_name={name}",
        data=gpx.encode(),
        headers={"content-type": "application/octet-stream"},
        method="POST",
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        assert answer.status in (200, 201)
