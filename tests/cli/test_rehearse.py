from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from coldfield.cli.main import group
from coldfield.errors import BadInput

DEMO = Path(__file__).parents[2] / "src/coldfield/app/demo/drill.json"


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
    assert "airway free, eight of ten: " in words[0]
    assert words[0].index("allowing for uncertain settings") < words[0].index("settings certain")
    assert "no open table" in words[0]


def test_contract_both_bands_the_wider_first_and_what_makes_it_on_demand() -> None:
    arguments = ["rehearse", str(DEMO), "--runs", "40", "--seed", "4"]
    document = json.loads(CliRunner().invoke(group, [*arguments, "--json"]).stdout)
    for burial in document["burials"]:
        assert set(burial["airway_unsure"]) == {"p10", "p50", "p90"}
        assert set(burial["seconds"]["airway"]) == {"p10", "p50", "p90", "mean"}
    shares = [one["share"] for one in document["unsure"]["made_by"]]
    assert shares == sorted(shares, reverse=True)
    plain, told = (CliRunner().invoke(group, [*arguments, *more]).stdout for more in ([], ["--settings"]))
    assert "wider band" not in plain
    assert "settings that make the wider band" in told


def test_regression_runs_that_fail_count_and_the_screen_says_so(tmp_path: Path) -> None:
    # No probe reaches 3 m down: with quantiles over successful runs only, one lucky run would define the
    # time.
    deep = json.loads(DEMO.read_text())
    deep["burials"] = [{**deep["burials"][0], "depth_m": 2.9}]
    path = tmp_path / "deep.json"
    path.write_text(json.dumps(deep))
    arguments = ["rehearse", str(path), "--runs", "20", "--seed", "1"]
    (burial,) = json.loads(CliRunner().invoke(group, [*arguments, "--json"]).stdout)["burials"]
    airway = burial["seconds"]["airway"]
    assert (airway["p90"] is None) == (burial["freed_fraction"] < 0.9)
    assert burial["freed_fraction"] < 0.9
    words = CliRunner().invoke(group, arguments).stdout
    assert "of 100 runs not freed within 60 min" in words
    assert "later than 60 min" in words


def test_contract_no_runs_is_refused() -> None:
    with pytest.raises(BadInput, match="runs: must be from 1"):
        CliRunner().invoke(group, ["rehearse", str(DEMO), "--runs", "0"], catch_exceptions=False)
