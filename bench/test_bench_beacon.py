"""Speed of the field, the hearing map and the strip widths, as ratios and budgets of one run."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import magpylib
import numpy as np
import pytest

import coldfield.app
from coldfield.app.drills.files import load_drill
from coldfield.app.hearing.map import hearing_map_bytes
from coldfield.beacon.field import dipole_field
from coldfield.beacon.hearing import Heard, carried_point_m, hear, sources_of
from coldfield.beacon.hearing_grid import HearingGrid, hearing_grid
from coldfield.drill import Receiver, Transmitter
from coldfield.drill.terrain import Plane
from coldfield.files.hearing_bytes import unpack_hearing
from coldfield.search.width.lateral_range import Pair, lateral_curve
from coldfield.search.width.strip_width import edge_width_m, sweep_width_m
from coldfield.search.width.timed_width import timed_width
from goal import against_goal, times_as_fast

POINTS = 1_000_000
WANTED = {"magpylib's core": 10.0, "a plain NumPy line": 1.0}
"""The goals for the speed of the static field, as factors. Settings."""

DEMO = Path(coldfield.app.__file__).parent / "demo/drill.json"


def least_cpu_s(work: Callable[[], object], rounds: int = 5) -> float:
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


@pytest.fixture(scope="module")
def cloud() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(0)
    return np.array([0.0, 0.006, 0.002]), rng.normal(0, 20, (POINTS, 3))


def plain_numpy(m: np.ndarray, d: np.ndarray) -> np.ndarray:
    r = np.linalg.norm(d, axis=1, keepdims=True)
    n = d / r
    return (3 * (n @ m)[:, None] * n - m) / (4 * np.pi * r**3)


def test_static_field_of_a_million_points(benchmark, cloud) -> None:
    m, d = cloud
    many = np.tile(m, (POINTS, 1))
    ours = benchmark(dipole_field, m, d)
    theirs = magpylib.core.dipole_Hfield(observers=d, moments=many)
    size = np.linalg.norm(theirs, axis=1, keepdims=True)
    assert np.abs((ours - theirs) / size).max() < 1e-12
    mine = least_cpu_s(lambda: dipole_field(m, d))
    against = {
        "magpylib's core": least_cpu_s(lambda: magpylib.core.dipole_Hfield(observers=d, moments=many), 3),
        "a plain NumPy line": least_cpu_s(lambda: plain_numpy(m, d), 3),
    }
    for name, seconds in against.items():
        benchmark.extra_info[name] = f"{seconds / mine:.1f} times slower"
        times_as_fast(f"static field, 1e6 points, beside {name}", mine, seconds, WANTED[name])


def test_hearing_map_of_200_by_200_and_three_burials(benchmark) -> None:
    drill = load_drill(DEMO)
    plane = Plane.of(drill.site)
    sources = sources_of([*drill.burials, drill.burials[0]], plane)
    lines = np.linspace(0, 100, 200)
    sources = replace(sources, ids=("A", "B", "C"))
    receiver = drill.searchers[0].receiver
    group = [one.receiver for one in drill.searchers]

    def compiled() -> HearingGrid:
        return hearing_grid(sources, receiver, plane, east_m=lines, north_m=lines, group=group)

    grid = benchmark(compiled)
    assert grid.signal.shape == (3, 200, 200)
    place = np.stack(np.meshgrid(lines, lines), axis=-1)

    def arrays() -> Heard:
        point, _ = carried_point_m(sources, receiver, plane, place)
        return hear(sources, receiver, point)

    mine, theirs = least_cpu_s(compiled), least_cpu_s(arrays, 2)
    benchmark.extra_info["array functions"] = f"{theirs / mine:.0f} times slower"
    times_as_fast("hearing map, beside array functions", mine, theirs, 20.0)


def test_hearing_map_of_three_burials_as_the_browser_gets_it(benchmark) -> None:
    drill = load_drill(DEMO)
    third = replace(drill.burials[0], id="C", position_m=(60.0, 30.0))
    drill = replace(drill, burials=(*drill.burials, third))
    content = benchmark(lambda: hearing_map_bytes(drill))
    assert unpack_hearing(content).reading.shape == (3, 200, 186)
    whole = least_cpu_s(lambda: hearing_map_bytes(drill), 20)
    moved = least_cpu_s(lambda: hearing_map_bytes(drill, burials=["C"]), 20)
    against_goal("hearing map, packed", whole, 0.010)
    against_goal("hearing map of the moved burial, beside the whole", moved, whole)


def test_all_three_strip_widths_in_a_second(benchmark) -> None:
    pair = Pair(receiver=Receiver(coaxial_range_m=45.0), transmitter=Transmitter())

    def widths() -> tuple[float, float, float]:
        curve = lateral_curve(pair)
        return edge_width_m(pair), timed_width(curve.reach_m).best_m, sweep_width_m(curve)

    widths()
    benchmark(widths)
    seconds = least_cpu_s(widths)
    against_goal("all three strip widths", seconds, 1.0)
