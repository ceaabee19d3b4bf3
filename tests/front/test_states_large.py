"""Pages with as much content as possible: many corners, people, burials and splits, and very long names."""

from __future__ import annotations

import urllib.request
from copy import deepcopy
from math import cos, pi, sin
from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from accessibility import axe
from amount import amount, places
from drill_records import asked, new_drill
from example_records import DRILL
from visiting import FRAMES, LAPTOP, PHONE, Visiting, middle

SENTENCE = (
    "Suchübung am unteren Schwemmkegel unterhalb der Lärchenhütte mit dreifach Verschütteten, Gruppe Nord"
)
WORD = "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichenhalterung"
PARTS = ("ground", "burials", "group", "hearing", "strips", "rehearsal", "checks")


def large_drill(site: str) -> str:
    """A ground of 500 corners, 10 burials, 12 people."""
    around = [2 * pi * i / 500 for i in range(500)]
    ring = [
        [round(100 + (80 + 10 * sin(7 * t)) * cos(t), 2), round(100 + (70 + 8 * cos(5 * t)) * sin(t), 2)]
        for t in around
    ]
    burials = [
        {
            **deepcopy(DRILL["burials"][0]),
            "id": chr(65 + i),
            "set": None,
            "position_m": [round(100 + 45 * cos(i), 1), round(100 + 40 * sin(i), 1)],
        }
        for i in range(10)
    ]
    people = [
        {**deepcopy(DRILL["searchers"][0]), "id": f"s{i}", "name": WORD if i == 0 else f"Adaeze {i}"}
        for i in range(12)
    ]
    ground = {**DRILL["site"], "boundary_m": ring, "holes_m": [], "entry_m": [100, 45]}
    return new_drill(site, name=SENTENCE, site=ground, burials=burials, searchers=people)


def kept(site: str, kind: str, form: dict[str, object]) -> str:
    record_id = uuid4().hex
    asked(site, f"{kind}/{record_id}", form)
    return record_id


@pytest.fixture(scope="module")
def large(site: str) -> list[str]:
    """The addresses of the large pages."""
    drill = large_drill(site)
    person = kept(site, "people", {"name": WORD, "contact": WORD + "@example.org", "notes": SENTENCE * 3})
    course = kept(site, "courses", {"name": SENTENCE, "notes": WORD})
    kept(site, "participants", {"course_id": course, "person_id": person, "role": "instructor"})
    kept(
        site,
        "kit",
        {"kind": "set", "label": WORD[:64], "owner_id": person, "state": "to check", "notes": SENTENCE},
    )
    run = kept(
        site,
        "runs",
        {
            "drill_id": drill,
            "name": SENTENCE,
            "held_utc": "2026-02-14T09:30:00Z",
            "searchers": [{"searcher": "s0", "person_id": person}],
        },
    )
    rows = [
        f"{3 * i},s{i % 12},{chr(65 + i % 10)},{WORD[:60] if i % 9 == 0 else 'probe_strike'}"
        for i in range(300)
    ]
    splits = "\n".join(["t_s,searcher,burial,split", *rows]).encode()
    keep = urllib.request.Request(
        f"{site}/api/runs/{run}/splits/keep", data=splits, method="POST", headers={"content-type": "text/csv"}
    )
    with urllib.request.urlopen(keep, timeout=60) as answer:
        assert answer.status == 200
    steps = [f"/runs/{run}?step={step}" for step in ("run", "splits", "buried", "clocks", "debrief")]
    lists = ["/", "/drills", "/runs", "/runs?new=1", "/courses", "/people", "/kit"]
    return [
        *(f"/drills/{drill}?part={part}" for part in PARTS),
        *steps,
        *lists,
        f"/people/{person}",
        f"/courses/{course}",
    ]


def overflows(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth > innerWidth"))


@pytest.mark.desk
@pytest.mark.parametrize(
    ("size", "scheme", "locale"), [(PHONE, "dark", "de-AT"), (LAPTOP, "light", "en-GB")][: amount(1, desk=2)]
)
def test_contract_the_largest_of_everything_fits_its_page(
    visit: Visiting, large: list[str], size: dict[str, int], scheme: str, locale: str
) -> None:
    visited = visit(viewport=size, color_scheme=scheme, locale=locale)
    visited.troubled = True  # pages are left before their requests are answered
    page = visited.open("/service")
    for address in places(large, 8):
        page.goto(visited.site + address)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        page.wait_for_load_state("networkidle")
        assert not overflows(page), address
        if "ground" in address or "splits" in address or "people/" in address:
            assert axe(page) == [], address


def test_contract_corners_that_could_not_be_told_apart_come_closer_up(
    visit: Visiting, large: list[str]
) -> None:
    page = visit().open(large[0])
    expect(page.get_by_text("The ground has 500 corners.")).to_be_visible()
    corners = page.get_by_role("button", name="Corner ")
    far = corners.count()
    assert 40 < far < 200
    numbers = [int(name.split()[1]) for name in corners.evaluate_all("all => all.map(one => one.ariaLabel)")]
    assert max(numbers) > 480
    second = page.get_by_role("button", name="Corner 2 of the boundary", exact=False)
    expect(second).to_have_count(0)
    page.get_by_role("application").focus()
    page.mouse.move(*middle(page.get_by_role("button", name="Corner 1 of the boundary").locator("rect")))
    for _ in range(20):
        page.mouse.wheel(0, -150)
        page.evaluate(FRAMES)
        if second.count():
            break
    expect(second).to_have_count(1)
