"""One bar over all stages of long work: it never falls, and is full only when the last stage ends."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import coldfield.app
from coldfield.app.debriefs.work import debrief_work
from coldfield.app.jobs.stages import Stages
from coldfield.app.rehearsals.work import rehearse_work
from coldfield.files.drill_json import drill_from

DEMO = json.loads((Path(coldfield.app.__file__).parent / "demo/drill.json").read_text())
Told = tuple[int, int, str, tuple[int, int]]


class Heard:
    """The progress reports of some work."""

    def __init__(self) -> None:
        self.all: list[Told] = []

    def __call__(self, done: int, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
        assert at is not None
        self.all.append((done, total, stage, at))

    def check(self, stages: list[str]) -> None:
        """Check the bar, and the order of its stages."""
        done, totals = [one[0] for one in self.all], {one[1] for one in self.all}
        assert done == sorted(done)
        assert len(totals) == 1
        assert list(dict.fromkeys(stage for _, _, stage, _ in self.all)) == stages
        last = stages[-1]
        full = [stage for one, total, stage, _ in self.all if one >= total]
        assert full == [last]
        assert self.all[-1][:3] == (done[-1], done[-1], last)


@given(
    weights=st.lists(st.integers(1, 10_000), min_size=1, max_size=6),
    steps=st.lists(st.integers(1, 50), min_size=6, max_size=6),
)
def test_property_a_bar_never_falls_and_is_full_at_the_very_end(weights: list[int], steps: list[int]) -> None:
    names = [f"stage {k}" for k in range(len(weights))]
    heard = Heard()
    stages = Stages(heard, dict(zip(names, weights, strict=True)))
    for name, most in zip(names, steps, strict=False):
        for done in range(most + 1):
            stages.at(name)(done, most)
    heard.check(names)


def test_contract_work_within_a_stage_takes_that_stage_of_the_bar() -> None:
    heard = Heard()
    stages = Stages(heard, {"walking": 100, "debriefing": 200})
    stages.at("walking")(0, 1)
    inner = Stages(stages.within("debriefing"), {"reading": 1, "working out": 3})
    inner.at("reading")(1, 1)
    inner.at("working out")(1, 1)
    assert [(done, total, stage) for done, total, stage, _ in heard.all] == [
        (0, 300, "walking"),
        (150, 300, "debriefing"),
        (300, 300, "debriefing"),
    ]


@pytest.mark.parametrize(
    ("more", "stages"),
    [
        ({}, ["getting ready", "runs"]),
        ({"worth": True}, ["getting ready", "runs", "changes"]),
        ({"before": drill_from(DEMO)}, ["getting ready", "runs", "before"]),
        ({"before": drill_from(DEMO), "worth": True}, ["getting ready", "runs", "before", "changes"]),
    ],
)
def test_regression_a_rehearsal_is_one_bar_whatever_is_asked_for(
    more: dict[str, Any], stages: list[str]
) -> None:
    heard = Heard()
    rehearse_work(drill=drill_from(DEMO), runs=8, seed=1, progress=heard, **more)
    heard.check(stages)


@pytest.mark.parametrize("band_runs", [0, 20])
def test_regression_a_debrief_is_one_bar_with_and_without_rehearsals(
    demo_files: Path, band_runs: int
) -> None:
    tracks = [
        {"file": path.name, "content": path.read_bytes(), "searcher": path.stem, "parts": []}
        for path in sorted((demo_files / "tracks").glob("*.gpx"))
    ]
    heard = Heard()
    debrief_work(drill=DEMO, tracks=tracks, splits=(), simulated=True, band_runs=band_runs, progress=heard)
    heard.check(["reading", "cleaning", *(["rehearsing"] if band_runs else []), "working out"])
