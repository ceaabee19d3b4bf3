"""A whole invented course in the browser: drill, sheet, clock file, debrief, learned, practise next, proposal."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

sys.path.insert(0, str(Path(__file__).parents[1] / "coaching"))

from made_course import MadeCourse, made_course
from on_record import COURSE, keep_course

from coldfield.files.day_file import write_day_file
from coldfield.files.day_model import ITEMS, HeadLine, PhoneLine, RunLine
from coldfield.files.drill_json import write_drill
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from drill_records import asked, new_drill
from drops import dropped
from visiting import PHONE, Visiting, served_here

JOB_MS = 300_000
START_MS = 1_772_000_000_000


@pytest.fixture(scope="module")
def course() -> MadeCourse:
    return made_course(4, family=7, other_digging=False, runs=7)


@pytest.fixture
def course_site(course: MadeCourse, empty_records: Path, tmp_path: Path) -> Iterator[str]:
    place = shutil.copytree(empty_records, tmp_path / "records")
    database = open_sqlite(Folder(place))
    keep_course(database, MadeCourse(**{**vars(course), "runs": course.runs[:-1]}))
    database.close()
    with served_here(place) as address:
        yield address


def clock_file(course: MadeCourse, drill_id: str) -> bytes:
    """The last run of the course as a phone wrote it."""
    run = course.runs[-1]
    told = [("alarm", None, 0.0, None)]
    splits = {"airway": "airway_clear"}
    for burial, moments in run.moments.items():
        told += [(splits.get(name, name), burial, one.t_s, one.searcher) for name, one in moments.items()]
    items = []
    for n, (split, burial, at_s, searcher) in enumerate(sorted(told, key=lambda row: row[2]), 1):
        kind = "alarm" if split == "alarm" else "split"
        more = {} if kind == "alarm" else {"split": split, "burial": burial}
        if searcher is not None:
            more["searcher"] = searcher
        at_ms = round(1000 * at_s)
        stamp = {"id": f"last-{n}", "phone": "p1", "n": n, "of": "day-run", "page": "g"}
        items.append(
            ITEMS[kind].model_validate(
                {**stamp, "wall_ms": START_MS + at_ms, "since_page_ms": 1e6 + at_ms, **more}
            )
        )
    return write_day_file(
        head=HeadLine(made_by="an example", made_ms=START_MS),
        phones=[PhoneLine(id="p1", name="Larch", keeper="Ines")],
        runs=[RunLine(id="day-run", name="Last run", prepared=True, drill_id=drill_id, drill_version=1)],
        items=items,
    )


def drill_of_last(course: MadeCourse) -> str:
    drills = list(dict.fromkeys(run.drill for run in course.runs[:-1]))
    last = course.runs[-1].drill
    return f"drill-{(drills.index(last) if last in drills else 0) + 1}"


def test_contract_a_course_from_its_drill_to_the_next_one(
    course: MadeCourse, course_site: str, visit: Visiting
) -> None:
    drill_id = drill_of_last(course)
    visited = visit(course_site)
    app = visited.open(f"/drills/{drill_id}")
    expect(app.get_by_role("heading", level=1)).to_be_visible()
    # The sheet for the person who hides the sets.
    app.goto(f"{course_site}/drills/{drill_id}?part=burials")
    with app.expect_download() as saving:
        app.get_by_role("link", name="Setup sheet and lane card (PDF)").click()
    assert Path(saving.value.path()).read_bytes().startswith(b"%PDF")
    # The phone's items come back in a dropped file.
    app.goto(f"{course_site}/runs")
    expect(app.get_by_role("button", name="Files from the phones")).to_be_visible()
    dropped(app, ("last.coldfield-day.txt", clock_file(course, drill_id)))
    expect(app.get_by_role("heading", name="From the phones")).to_be_visible()
    run_id = app.url.split("/runs/")[1].split("?")[0]
    app.goto(f"{course_site}/runs/{run_id}?step=debrief")
    app.get_by_role("button", name="Debrief this run").click()
    expect(app.get_by_text("No track was recorded:")).to_be_visible(timeout=JOB_MS)

    app.goto(f"{course_site}/coach")
    expect(app.get_by_role("heading", name="Learned")).to_be_visible(timeout=JOB_MS)
    expect(app.get_by_text("after 7 runs").first).to_be_visible()
    expect(app.get_by_role("row").filter(has_text="snow moved per person")).to_be_visible()
    expect(app.get_by_role("img", name="snow moved per person").first).to_be_visible()
    expect(app.get_by_role("row").filter(has_text="Run 1").first).to_be_visible()
    app.get_by_label("Look at").select_option(label="Ines")
    expect(app.get_by_role("row").filter(has_text="snow moved per person")).to_have_count(0)

    # A standard of the instructor's own, by name and by due date, and the table for the records.
    app.get_by_label("Name", exact=True).fill("Spring standard")
    app.get_by_label("At most, min").fill("30")
    app.get_by_role("button", name="Add the standard").click()
    expect(app.get_by_role("row").filter(has_text="Spring standard").first).to_be_visible(timeout=JOB_MS)
    names = app.get_by_role("table", name="Who meets which standard").get_by_role("rowheader")
    expect(names).to_have_text(["Bram", "Ines", "Tomas", "Yuki"])
    with app.expect_download() as saving:
        app.get_by_role("link", name="Table for the records (CSV)").click()
    table = Path(saving.value.path()).read_text()
    assert "Spring standard" in table
    assert "rank" not in table

    # 'Practise next' leads to a drill for it.
    expect(app.get_by_role("heading", name="Practise next", exact=True)).to_be_visible()
    app.get_by_role("link", name="A drill for it").first.click()
    expect(app.get_by_role("heading", name="Which drill can this group learn from?")).to_be_visible()
    app.get_by_label("Like the drill").select_option(drill_id)
    app.get_by_label("From, min").fill("6")
    app.get_by_label("To, min").fill("24")
    before = len(asked(course_site, "drills")["items"])
    app.get_by_role("button", name="Propose drills").click()
    take = app.get_by_role("button", name="Use this drill").first
    expect(take).to_be_visible(timeout=JOB_MS)
    expect(app.get_by_text("With the group's own figures from 7 runs")).to_be_visible()
    expect(app.get_by_role("article")).to_have_count(3)
    take.click()
    opened = app.get_by_role("link", name="Added to your drills: open it")
    expect(opened).to_be_visible()
    assert len(asked(course_site, "drills")["items"]) == before + 1
    # One press undoes it, and it can be used again.
    visited.troubled = True  # the browser complains that the drill is gone
    app.get_by_role("button", name="Undo").click()
    expect(opened).to_have_count(0)
    assert len(asked(course_site, "drills")["items"]) == before
    app.get_by_role("button", name="Use this drill").first.click()
    opened.click()
    expect(app).to_have_url(f"{course_site}/drills/" + app.url.split("/drills/")[1])
    expect(app.get_by_role("heading", level=1)).to_be_visible()


def test_contract_a_rehearsal_with_the_groups_own_figures_says_so(
    course: MadeCourse, course_site: str, visit: Visiting
) -> None:
    app = visit(course_site).open("/drills/drill-1?part=rehearsal")
    app.get_by_label("Runs", exact=True).fill("40")
    app.get_by_label("Also find what helps most").uncheck()
    app.get_by_role("button", name="Rehearse", exact=True).click()
    expect(app.get_by_text("With the settings", exact=True)).to_be_visible(timeout=JOB_MS)
    app.get_by_label("Judged with").select_option(label="own figures of February course")
    app.get_by_role("button", name="Rehearse again").click()
    own = app.get_by_text("With the group's own figures from 6 runs")
    expect(own).to_be_visible(timeout=JOB_MS)
    # One of its runs is played again with the same figures, and a reload still knows whose they are.
    app.get_by_role("button", name="median", exact=True).click()
    expect(app.get_by_role("slider")).to_be_visible()
    app.reload()
    expect(own).to_be_visible(timeout=JOB_MS)
    expect(app.get_by_label("Judged with")).to_have_value(COURSE)


def test_contract_without_runs_nothing_is_said_of_own_figures(empty_site: str, visit: Visiting) -> None:
    document = json.loads(write_drill(made_course(4, family=7, other_digging=False, runs=1).runs[0].drill))
    app = visit(empty_site).open(f"/drills/{new_drill(empty_site, **document)}?part=rehearsal")
    expect(app.get_by_role("button", name="Rehearse", exact=True)).to_be_visible()
    expect(app.get_by_label("Judged with")).to_have_count(0)


def test_contract_without_runs_the_page_says_that_it_is_too_little(empty_site: str, visit: Visiting) -> None:
    app = visit(empty_site, viewport=PHONE).open("/coach")
    expect(app.get_by_text("Too little to tell from 0 runs")).to_be_visible(timeout=JOB_MS)
    expect(app.get_by_text("Any drill with timed splits will help")).to_be_visible()
    app.goto(f"{empty_site}/propose")
    expect(app.get_by_text("A proposal needs one of your drills first")).to_be_visible()


def test_contract_a_search_for_drills_can_be_cancelled(course_site: str, visit: Visiting) -> None:
    app = visit(course_site).open("/propose")
    app.get_by_role("button", name="Propose drills").click()
    app.get_by_role("button", name="Cancel").click()
    expect(app.get_by_role("button", name="Propose drills")).to_be_enabled(timeout=JOB_MS)
    expect(app.get_by_role("article")).to_have_count(0)
