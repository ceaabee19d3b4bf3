"""Rehearsals: the compiled program against the plain player, two workers against one, cost by size.

Run with ``make bench``; results are ratios within one run where possible.
"""

from __future__ import annotations

import sys
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise
from pathlib import Path
from time import perf_counter
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "rescue"))

from small_drills import burial, drill, searcher, straight_lanes

from coldfield.drill import Drill
from coldfield.rescue.kernel.runs import packed, play_runs
from coldfield.rescue.player.play import play
from coldfield.rescue.settings import SETTINGS

RUNS = 10_000


def two_burials_four_searchers() -> Drill:
    pair = [burial("A", (15.0, 40.0), 0.8), burial("B", (60.0, 65.0), 1.2)]
    return drill(pair, [searcher(f"s{k}") for k in range(4)], size_m=80.0)


def seconds(fixed: Any, runs: int, workers: int = 1) -> float:
    """Return the best of three times for playing a number of runs, divided evenly."""
    edges = [runs * k // workers for k in range(workers + 1)]
    best = float("inf")
    with ThreadPoolExecutor(workers) as pool:
        for _ in range(3):
            begin = perf_counter()
            list(
                pool.map(
                    lambda ab: play_runs(fixed, seed=1, first_run=ab[0], last_run=ab[1]),
                    pairwise(edges),
                )
            )
            best = min(best, perf_counter() - begin)
    return best


def test_ten_thousand_rehearsals(benchmark: Any) -> None:
    made = two_burials_four_searchers()
    lanes = straight_lanes(made)
    fixed = packed(made, lanes, None, SETTINGS)
    play_runs(fixed, seed=1, first_run=0, last_run=10)
    benchmark.pedantic(play_runs, (fixed,), {"seed": 1, "first_run": 0, "last_run": RUNS}, rounds=3)

    begin = perf_counter()
    for run in range(20):
        play(made, lanes, seed=1, run=run)
    plain = (perf_counter() - begin) / 20
    one, two = seconds(fixed, RUNS), seconds(fixed, RUNS, workers=2)
    benchmark.extra_info["times the plain player"] = round(plain / (one / RUNS))
    benchmark.extra_info["two workers over one"] = round(one / two, 2)
    print(f"\n{one:.2f} s; {plain / (one / RUNS):.0f} x the plain player; two workers {one / two:.2f} x one")


@pytest.mark.parametrize("burials", [1, 2, 4, 8])
@pytest.mark.parametrize("people", [1, 4, 12, 30])
def test_cost_by_burials_and_people(benchmark: Any, burials: int, people: int) -> None:
    places = [(10.0 + 60.0 * (k % 3) / 2, 15.0 + 8.0 * k) for k in range(burials)]
    made = drill(
        [burial(f"B{k}", at) for k, at in enumerate(places)],
        [searcher(f"s{k}") for k in range(people)],
        size_m=80.0,
    )
    fixed = packed(made, straight_lanes(made, width_m=80.0 / min(people, 4)), None, SETTINGS)
    play_runs(fixed, seed=1, first_run=0, last_run=2)
    benchmark.pedantic(play_runs, (fixed,), {"seed": 1, "first_run": 0, "last_run": 500}, rounds=2)
