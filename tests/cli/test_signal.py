import json
from pathlib import Path

import pytest
from click.testing import CliRunner

import coldfield.app
from coldfield.cli.signal import command
from coldfield.errors import OutOfModel

DEMO = str(Path(coldfield.app.__file__).parent / "demo/drill.json")


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
    assert "A: reading 13 m, line runs north to south" in result.stdout


@pytest.mark.parametrize("arguments", [[], ["--at", "40"], ["--at", "a,b"], ["--at", "1,2,3"]])
def test_contract_a_place_that_cannot_be_read_ends_in_exit_2(arguments: list[str]) -> None:
    assert CliRunner().invoke(command, [DEMO, *arguments]).exit_code == 2


def test_contract_map_and_neighbour_are_told_in_one_json_object(tmp_path: Path) -> None:
    picture = str(tmp_path / "map.svg")
    result = CliRunner().invoke(command, [DEMO, "--map", picture, "--neighbour", DEMO, "--json"])
    assert result.exit_code == 0
    found = json.loads(result.stdout)
    assert found["map"] == picture
    # The drill as its own neighbour: both of its sets are heard here.
    assert [words.split()[1] for words in found["warnings"]] == ["A", "B"]
    assert result.stderr.count("can be heard on this ground") == 2
    told = CliRunner().invoke(command, [DEMO, "--map", picture])
    assert told.stdout.strip().endswith("the hearing map")


def test_contract_a_place_outside_the_model_writes_no_map(tmp_path: Path) -> None:
    result = CliRunner().invoke(command, [DEMO, "--at", "900,900", "--map", str(tmp_path / "map.svg")])
    assert isinstance(result.exception, OutOfModel)
    assert list(tmp_path.iterdir()) == []
