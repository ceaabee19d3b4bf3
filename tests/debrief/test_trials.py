"""A small part of the trials in design/, whose results are in docs/debrief_accuracy.md."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

DESIGN = Path(__file__).parents[2] / "design"


def script(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, DESIGN / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def trials() -> ModuleType:
    return script("debrief_accuracy")


def test_independent_route_what_is_stated_holds_the_truth_of_played_runs(trials: ModuleType) -> None:
    # The searcher model knows the truth; the debrief sees only recorded places and splits. 95 % should be
    # inside; with about 20 cases, three quarters is four standard errors below.
    tally = trials.run(10, 1)
    for quantity in ("turn", "reading of 3 m", "audible", "swept share"):
        inside = tally.inside[quantity]
        assert len(inside) >= 7
        assert np.mean(inside) >= 0.7, quantity


def test_independent_route_perfect_flux_line_walkers_under_noise_draw_no_criticism(
    trials: ModuleType,
) -> None:
    told = [kinds for number in range(16) if (kinds := trials.perfect_walk(number)) is not None]
    assert len(told) >= 10
    assert sum(bool(kinds) for kinds in told) <= 2  # expected: one in twenty; more than two of 16: 0.04


def test_independent_route_a_second_walker_and_device_are_held_and_told(trials: ModuleType) -> None:
    # Of four runs with flaws and two of perfect walkers: 48 audible seconds, 24 lengths, about a dozen turns.
    second = script("debrief_second")
    counts = second.trial(second.FAMILIES["tune"], 4, 40)
    for row in ("turn", "reading of 3 m", "first audible", "audible seconds", "length"):
        assert np.mean(counts.inside[row]) >= 0.7, row
    assert sum(sum(told) for told in counts.told.values()) >= 3
    assert sum(sum(blamed) for blamed in counts.criticised.values()) <= 1
