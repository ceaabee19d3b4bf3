import json
from pathlib import Path

import pytest
from click.testing import CliRunner

import coldfield.app
from coldfield.cli.strip_width import command
from coldfield.errors import BadInput

DEMO = str(Path(coldfield.app.__file__).parent / "demo/drill.json")


def run(*arguments: str) -> str:
    result = CliRunner().invoke(command, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0
    return result.stdout


def test_contract_figures_typed_in_their_units_reach_the_model() -> None:
    got = json.loads(
        run("--coaxial-range-m", "40", "--antenna-factors", "1,1,2", "--noise-rise-db", "6", "--pod", "0.9",
            "--field-at-10m-ua", "0.8", "--after-signal-min", "10", "--json")
    )  # fmt: skip
    assert got["pod"] == 0.9
    assert got["noise_rise_db"] == 6
    assert got["scenario"]["antenna_factors"] == [1, 1, 2]
    assert got["scenario"]["field_at_10m_ua_per_m"] == pytest.approx(0.8)
    assert got["scenario"]["first_signal_to_airway_s"] == 600
    # 0.8 of the field leaves 0.93 of the range.
    assert got["quiet_coaxial_range_m"] == pytest.approx(40 * 0.8 ** (1 / 3), rel=0.01)


def test_contract_a_drill_is_answered_in_words_with_its_caution() -> None:
    words = run(DEMO)
    assert "Edge width:" in words
    assert "training and planning" in words
    for never in ("safe", "guarantee", "certain", "optimal"):
        assert never not in words.lower()


def test_contract_contradictory_flags_are_refused() -> None:
    with pytest.raises(BadInput, match="not both"):
        run("--threshold-na", "80", "--coaxial-range-m", "40")


@pytest.mark.parametrize("arguments", [["--antennas", "4"], ["--antenna-factors", "1,x"], ["--pod", "much"]])
def test_contract_flags_that_cannot_be_read_end_in_exit_2(arguments: list[str]) -> None:
    assert CliRunner().invoke(command, arguments).exit_code == 2
