"""No word on the plan of a drill covers another, or a line that is not its own: read from the boxes on the page."""

from __future__ import annotations

import random
from math import cos, pi, sin
from typing import Any

from drill_records import new_drill
from visiting import FRAMES, LAPTOP, PHONE, Visiting

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
    """Every burial and every named place has its words, whatever stands near."""
    burials = {f"burial {one['id']}" for one in drill["burials"]}
    return (
        burials | {"fixed entry", "fixed seen"} | {f"fixed {k}" for k in range(len(drill["site"]["anchors"]))}
    )


def test_contract_no_word_on_the_plan_covers_another_or_a_line_that_is_not_its_own(
    visit: Visiting, site: str
) -> None:
    drills = {new_drill(site, **invented(seed)): invented(seed) for seed in range(DRILLS)}
    page = visit(viewport=LAPTOP).open(f"/drills/{next(iter(drills))}?part=burials")
    for size, theme in ((LAPTOP, "light"), (PHONE, "dark")):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        page.emulate_media(color_scheme=theme)  # type: ignore[arg-type]
        for k, (drill_id, drill) in enumerate(drills.items()):
            # Lanes take the service a while.
            part = "strips" if k % 5 == 0 else ("ground", "burials")[k % 2]
            page.evaluate(GO, f"/drills/{drill_id}?part={part}")
            page.wait_for_selector(f'[data-words="{drill_id}"] text', state="attached")
            if part == "strips":
                page.wait_for_selector(f'[data-lanes="{drill_id}"]', state="attached")
            page.evaluate(FRAMES)
            seen = page.evaluate(COLLISIONS)
            where = f"{drill['name']}, {part}, {size['width']} px, {theme}"
            assert (where, seen["found"]) == (where, [])
            missing = wanted(drill) - set(seen["words"])
            if part == "strips":  # between close lanes the name of a place may find no room
                missing = {name for name in missing if name.startswith("burial")}
            assert missing == set(), where
