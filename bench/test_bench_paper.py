"""Speed and size of each sheet, warm, against half a second and 1 MB."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import coldfield.app
from coldfield.app.drills.files import load_drill
from coldfield.app.sheets.setup import setup_sheet
from coldfield.debrief.document import (
    DebriefDocument,
    DebriefedSearcher,
    DebriefedSite,
    DebriefedTrack,
    TrackPiece,
)
from coldfield.debrief.phases.phase import Phase
from coldfield.paper.debrief_sheet import debrief_pdf
from coldfield.paper.hand_outs import Attended, Piece, check_pdf, course_pdf, kit_pdf
from goal import against_goal

MOST_S, MOST_MB = 0.5, 1.0
"""The goals for a sheet. Settings."""

DRILL = load_drill(Path(coldfield.app.__file__).parent / "demo/drill.json")
DAYS = [f"2026-02-{day:02d}" for day in range(10, 18)]
PEOPLE = [
    Attended(
        name=f"Ines {k}",
        role="participant",
        runs=dict.fromkeys(DAYS, 2),
        met=[("Four minutes", DAYS[0])],
    )
    for k in range(20)
]


def twelve() -> bytes:
    spots = [(18.0 + 20 * (k % 4), 22.0 + 22 * (k // 4)) for k in range(12)]
    burials = tuple(
        replace(DRILL.burials[0], id=f"Sack {k}", position_m=spot) for k, spot in enumerate(spots)
    )
    people = tuple(replace(DRILL.searchers[0], id=f"s{k}", name=f"Ines {k}") for k in range(20))
    return setup_sheet(replace(DRILL, burials=burials, searchers=people))


def debrief() -> bytes:
    t = np.arange(3600.0)
    line = tuple((50 + 30 * float(np.sin(s / 300)), 50 + 40 * float(np.cos(s / 500))) for s in t)
    track = DebriefedTrack(points=3600, pieces=(TrackPiece(t_s=tuple(range(3600)), position_m=line),))
    phases = tuple(
        Phase(burial="A", phase=p, start_s=0, end_s=60) for p in ("signal", "coarse", "fine", "probe", "dig")
    )
    people = tuple(
        DebriefedSearcher(id=f"s{k}", name=f"Ines {k}", track=track, phases=phases) for k in range(20)
    )
    ground = DebriefedSite(boundary_m=tuple(DRILL.site.boundary_m))
    return debrief_pdf(DebriefDocument(title="Twenty people", site=ground, searchers=people))


SHEETS: dict[str, Callable[[], bytes]] = {
    "setup sheet and lane card": lambda: setup_sheet(DRILL),
    "the same of 12 burials and 20 people": twelve,
    "debrief of 20 tracks of an hour": debrief,
    "course record of 20 people": lambda: course_pdf("Winter", DAYS, PEOPLE),
    "kit sheet of 100 pieces": lambda: kit_pdf(
        [Piece(label=f"HL-{k}", kind="set", state="in use", owner="Ines") for k in range(100)], today=DAYS[0]
    ),
    "check sheet of 20 people": lambda: check_pdf([(one.name, "HL-1") for one in PEOPLE], title="Winter"),
}


@pytest.mark.parametrize("name", SHEETS)
def test_bench_a_sheet_within_half_a_second_and_a_megabyte(name: str) -> None:
    make = SHEETS[name]
    make()
    took = []
    for _ in range(3):
        start = time.process_time()
        pdf = make()
        took.append(time.process_time() - start)
    against_goal(f"{name}, processor time", min(took), MOST_S)
    print(f"{name}: {len(pdf) / 1e3:.0f} kB, {len(pdf) / 1e6 / MOST_MB:.2f} of its goal of {MOST_MB:g} MB")
