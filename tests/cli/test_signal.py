import json
from pathlib import Path

import pytest
from click.testing import CliRunner

import coldfield.app
from coldfield.cli.signal import command

DEMO = str(Path(coldfield.app.__file__).parent / "demo_drill.json")


def test_contract_json_is_one_object_with_the_promised_keys() -> None:
    result = CliRunner().invoke(command, [DEMO, "--at", "40,60", "--json"])
    assert result.exit_code == 0
    signal = json.loads(result.stdout)
    assert {"at_m", "height_m", "burials"} <= set(signal)
    assert set(signal["burials"][0]) == {
        "id", "distance_m", "field_a_per_m", "magnitude_a_per_m", "reading_m", "direction_deg", "audible",
        "audible_probability",
    }  # fmt: skip
    assert [b["id"] for b in signal["burials"]] == ["A", "B"]


def test_contract_words_tell_reading_and_line() -> None:
    result = CliRunner().invoke(command, [DEMO, "--at", "40,60", "--searcher", "Ines", "--height", "1"])
    assert "A: reads 13 m, line runs north to south" in result.stdout


@pytest.mark.parametrize("arguments", [[], ["--at", "40"], ["--at", "a,b"], ["--at", "1,2,3"]])
def test_contract_a_place_that_cannot_be_read_ends_in_exit_2(arguments: list[str]) -> None:
    assert CliRunner().invoke(command, [DEMO, *arguments]).exit_code == 2
