"""No label on a plan covers another one, or a line other than its own, by the boxes on the page."""

from __future__ import annotations

import random
import re
from math import cos, pi, sin
from pathlib import Path
from typing import Any, Literal

import pytest
from playwright.sync_api import Browser

from amount import DESK, amount, places
from coldfield.files.debrief_html import debrief_html
from coldfield.files.debrief_json import read_debrief
from drill_records import new_drill
from invented_run import invented_run
from visiting import FRAMES, LAPTOP, PHONE, PROJECTOR, Visiting

DRILLS = 20
BURIAL: dict[str, Any] = {"depth_m": 1.0, "transmitter": {"field_at_10m_ua_per_m": 1.0}}
NAMES = ("Ines", "Bram", "Yuki", "Tomas", "Adaeze", "Leif")
PLACES = ("cairn", "pole by the hut", "boulder", "larch")

COLLISIONS = """() => {
  const words = [...document.querySelectorAll('[data-word]')].map((one) => [one.dataset.word, one.getBoundingClientRect()])
  const found = []
  const meet = (a, b) => a.left < b.right - 0.5 && b.left < a.right - 0.5 && a.top < b.bottom - 0.5 && b.top < a.bottom - 0.5
  words.forEach(([name, box], k) => {
    for (const [other, its] of words.slice(k + 1)) if (meet(box, its)) found.push(`${name} on ${other}`)
    for (const mark of document.querySelectorAll('.burial rect:not(.none):not(.grip), .fixed path, .fixed circle:not(.grip)'))
      if (meet(box, mark.getBoundingClientRect())) found.push(`${name} on a mark`)
    for (const legend of document.querySelectorAll('figure .legend'))
      if (meet(box, legend.getBoundingClientRect())) found.push(`${name} on the legend`)
  })
  for (const path of document.querySelectorAll('[data-sheet] path.boundary, [data-sheet] path.hole, [data-sheet] [data-of] path.person-line')) {
    const own = path.closest('[data-of]')?.dataset.of
    const matrix = path.getScreenCTM()
    const length = path.getTotalLength()
    const step = 2 / Math.hypot(matrix.a, matrix.b)
    for (let at = 0; at <= length; at += step) {
      const p = path.getPointAtLength(at).matrixTransform(matrix)
      for (const [name, box] of words)
        if (name !== own && p.x > box.left && p.x < box.right && p.y > box.top + 1 && p.y < box.bottom - 1)
          found.push(`${name} on ${own ?? path.getAttribute('class')}`)
    }
  }
  return { words: words.map(([name]) => name), found: [...new Set(found)] }
}"""
HEIGHTS = """() => [...document.querySelectorAll('[data-sheet] text')].map((one) =>
  parseFloat(getComputedStyle(one).fontSize) * Math.hypot(one.getScreenCTM().a, one.getScreenCTM().b))"""
LEAST_ON_THE_WALL_PX = 20
MUST_CROSS = re.compile(r"(burial|finding) \S+ on person \S+")
"""Labels that must be shown may cross walked lines if there is no other place."""
MOVES = re.compile(r"person \S+ on person \S+")
"""Initials move with the people, and over walked lines."""
GO = "(path) => { history.pushState(null, '', path); dispatchEvent(new PopStateEvent('popstate')) }"


def invented(seed: int) -> dict[str, Any]:
    """A ground with five to nine corners, perhaps a hole, with burials close together and named places at its edge."""
    draw = random.Random(seed)
    corners = draw.randint(5, 9)
    size = draw.uniform(40, 110)
    ring = []
    for k in range(corners):
        way, reach = 2 * pi * k / corners, size * draw.uniform(0.7, 1.0)
        ring.append([round(reach * cos(way), 1), round(reach * sin(way), 1)])
    near = [[round(draw.uniform(-0.4, 0.4) * size, 1) for _ in "xy"] for _ in range(draw.randint(1, 6))]
    if len(near) > 2:
        near[1] = [near[0][0] + 2.0, near[0][1] + 1.0]
    burials = [
        {
            **BURIAL,
            "id": chr(65 + k),
            "position_m": at,
            "antenna": {"azimuth_deg": draw.randint(0, 359), "tilt_deg": 20},
        }
        for k, at in enumerate(near)
    ]
    group = [
        {"id": f"s{k}", "name": NAMES[k], "receiver": {"coaxial_range_m": draw.randint(30, 50)}}
        for k in range(draw.randint(2, 6))
    ]
    anchors = [
        {"name": name, "position_m": [round(one + draw.uniform(-3, 3), 1) for one in draw.choice(ring)]}
        for name in PLACES[: draw.randint(1, 4)]
    ]
    entry = ring[-1]
    return {
        "name": f"Invented {seed}",
        "site": {
            "origin": {"latitude_deg": 61.2, "longitude_deg": 8.1, "elevation_m": 1180},
            "boundary_m": ring,
            "entry_m": [0.98 * entry[0], 0.98 * entry[1]],
            "last_seen_m": [round(draw.uniform(-0.3, 0.3) * size, 1), round(0.4 * size, 1)],
            "slope_deg": draw.choice([0, 8, 20]),
            "aspect_deg": draw.randint(0, 359),
            "anchors": anchors,
        },
        "burials": burials,
        "searchers": group,
    }


def wanted(drill: dict[str, Any]) -> set[str]:
    """Every burial and every named place has its label, whatever is near."""
    burials = {f"burial {one['id']}" for one in drill["burials"]}
    return (
        burials | {"fixed entry", "fixed seen"} | {f"fixed {k}" for k in range(len(drill["site"]["anchors"]))}
    )


def shown_debrief(seed: int) -> dict[str, Any]:
    """A run with other places of burials, findings, gaps and named places, some close together."""
    draw = random.Random(seed)
    document = invented_run()
    site = document["site"]

    def anywhere() -> list[float]:
        return [round(draw.uniform(2, 56), 1), round(draw.uniform(6, 80), 1)]

    for thing in [*document["burials"], *document["findings"], *document["gaps"]]:
        if thing["position_m"]:
            thing["position_m"] = anywhere()
    first, second = document["burials"][:2]
    if seed % 2:
        second["position_m"] = [first["position_m"][0] + 2.0, first["position_m"][1] + 1.0]
    site["anchors"] = [{"name": name, "position_m": anywhere()} for name in PLACES[: draw.randint(1, 4)]]
    site["entry_m"], site["last_seen_m"] = anywhere(), anywhere()
    return document


def looked_at(few: int) -> list[tuple[dict[str, int], Literal["light", "dark"], list[int]]]:
    """Sizes, themes and seeds: a few of each in every run, all with `make desk`."""
    if DESK:
        return [(size, theme, list(range(DRILLS))) for size in (LAPTOP, PHONE) for theme in ("light", "dark")]
    return [
        (LAPTOP, "light", places(range(DRILLS), few)),
        (PHONE, "dark", places(range(1, DRILLS), few)),
    ]


@pytest.mark.desk
def test_contract_no_word_on_the_plan_covers_another_or_a_line_that_is_not_its_own(
    visit: Visiting, site: str
) -> None:
    page = visit(viewport=LAPTOP).open("/drills")
    stored: dict[int, str] = {}
    for size, theme, seeds in looked_at(5):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        page.emulate_media(color_scheme=theme)
        for k, seed in enumerate(seeds):
            drill = invented(seed)
            drill_id = stored.setdefault(seed, new_drill(site, **drill))
            # The service needs a while for lanes.
            part = "strips" if k % 5 == 0 else ("ground", "burials")[k % 2]
            page.evaluate(GO, f"/drills/{drill_id}?part={part}")
            page.wait_for_selector(f'[data-words="{drill_id}"] text', state="attached")
            if part == "strips":
                page.wait_for_selector(f'[data-lanes="{drill_id}"]', state="attached")
            page.evaluate("(open) => { document.querySelector('details.legend').open = open }", k % 3 == 1)
            page.evaluate(FRAMES)
            seen = page.evaluate(COLLISIONS)
            where = f"{drill['name']}, {part}, {size['width']} px, {theme}"
            assert (where, seen["found"]) == (where, [])
            missing = wanted(drill) - set(seen["words"])
            if part == "strips":  # between close lanes there may be no room for the name of a place
                missing = {name for name in missing if name.startswith("burial")}
            assert missing == set(), where


@pytest.mark.desk
def test_contract_no_word_on_the_plan_of_a_debrief_covers_another_and_on_the_wall_all_are_large(
    browser: Browser, tmp_path: Path
) -> None:
    page = browser.new_page()
    file = tmp_path / "debrief.html"
    crossed = told = 0
    walls = [(PROJECTOR, "dark", places(range(DRILLS), amount(4, desk=DRILLS)))]
    for size, theme, seeds in [*looked_at(4), *walls]:
        page.set_viewport_size(size)  # type: ignore[arg-type]
        page.emulate_media(color_scheme=theme)  # type: ignore[arg-type]
        wall = size is PROJECTOR
        for seed in seeds:
            document = shown_debrief(seed)
            file.write_text(debrief_html(read_debrief(document)), encoding="utf-8")
            at = random.Random(seed).randint(0, 700)
            page.goto(f"{file.as_uri()}?{seed}#t={at}{'&wall=1' if wall else ''}")
            page.wait_for_selector("[data-word]", state="attached")
            page.evaluate(FRAMES)
            seen = page.evaluate(COLLISIONS)
            where = f"debrief {seed} at {at} s, {size['width']} px, {theme}"
            crossing = [one for one in seen["found"] if MUST_CROSS.fullmatch(one)]
            others = [one for one in seen["found"] if one not in crossing and not MOVES.fullmatch(one)]
            assert (where, others) == (where, [])
            crossed, told = crossed + len(crossing), told + len(seen["words"])
            burials = {f"burial {one['id']}" for one in document["burials"]}
            assert burials - set(seen["words"]) == set(), where
            if wall:
                assert min(page.evaluate(HEIGHTS)) >= LEAST_ON_THE_WALL_PX, where
    page.close()
    assert crossed <= 0.02 * told
