from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from coldfield.cli.main import group
from coldfield.errors import BadInput

DEMO = Path(__file__).parents[2] / "src/coldfield/app/demo_drill.json"


def test_contract_json_is_one_object_and_nothing_else_on_stdout() -> None:
    done = CliRunner().invoke(
        group, ["rehearse", str(DEMO), "--runs", "20", "--seed", "2", "--json"], catch_exceptions=False
    )
    assert done.exit_code == 0
    document = json.loads(done.stdout)
    assert document["runs"] == 20
    assert document["burials"][0]["seconds"]["airway"]["p50"] > 60.0


def test_contract_same_seed_same_words() -> None:
    words = [
        CliRunner().invoke(group, ["rehearse", str(DEMO), "--runs", "10", "--seed", "5"]).stdout for _ in "ab"
    ]
    assert words[0] == words[1]
    assert "airway free in" in words[0]
    assert "no open table" in words[0]


def test_contract_no_runs_is_refused() -> None:
    with pytest.raises(BadInput, match="runs: must be from 1"):
        CliRunner().invoke(group, ["rehearse", str(DEMO), "--runs", "0"], catch_exceptions=False)
