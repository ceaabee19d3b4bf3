"""A small part of design/debrief_accuracy.py, whose figures stand in docs/debrief_accuracy.md."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

SCRIPT = Path(__file__).parents[2] / "design" / "debrief_accuracy.py"


@pytest.fixture(scope="module")
def trials() -> ModuleType:
    spec = importlib.util.spec_from_file_location("debrief_accuracy", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_independent_route_what_is_stated_holds_the_truth_of_played_runs(trials: ModuleType) -> None:
    # The searcher model knows the truth; the debrief sees only recorded places and splits. Nineteen of
    # twenty are meant to lie inside; with some 20 cases three quarters is four standard errors below.
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
    assert sum(bool(kinds) for kinds in told) <= 2  # one in twenty is meant; more than two of 16: 0.04
