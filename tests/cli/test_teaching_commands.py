import json
from pathlib import Path

import pytest
from click.testing import CliRunner

import coldfield.app
from coldfield.cli.main import group
from coldfield.errors import BadInput, ColdfieldError, OutOfModel, UnknownRecord

DEMO = str(Path(coldfield.app.__file__).parent / "demo/drill.json")


def run(*arguments: str) -> str:
    result = CliRunner().invoke(group, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0
    return result.stdout


def test_contract_fine_search_over_a_burial_and_over_a_typed_set(tmp_path: Path) -> None:
    got = json.loads(run("fine", DEMO, "--burial", "B", "--json", "--picture", str(tmp_path / "f.svg")))
    assert got["depth_m"] == 1.2
    assert [row["antennas"] for row in got["receivers"]] == [3, 2, 1]
    assert (tmp_path / "f.svg").stat().st_size > 1000
    words = run("fine", "--depth-m", "2", "--tilt-deg", "12.5")
    assert "ring 3" in words
    assert "does not limit the depth" in words


def test_contract_noise_tells_both_sides_apart() -> None:
    words = run("noise", "--quiet-range-m", "45", "--today-range-m", "30")
    assert "23.9 dB" in words
    assert "another reason" in words
    got = json.loads(run("noise", "--json"))
    assert got["noise_rise_db"] is None
    assert [row["distance_m"] for row in got["rows"]] == [0.2, 0.3, 0.5, 0.8, 1.0]


def test_contract_range_test_hands_out_a_receiver_for_the_drill_file() -> None:
    got = json.loads(
        run(
            "range-test",
            "--coaxial",
            "44,45,46",
            "--coplanar",
            "34,34.5,33.8",
            "--upright",
            "24,25,23",
            "--json",
        )
    )
    assert got["coaxial_range_m"] == pytest.approx(45, abs=0.7)
    assert got["receiver"]["antenna_factors"][2] == pytest.approx(got["upright_factor"])
    assert '"receiver":' in run("range-test", "--coaxial", "44,45,46")


def test_contract_overlap_of_the_demo_drill() -> None:
    got = json.loads(run("overlap", DEMO, "--json"))
    assert [row["id"] for row in got["burials"]] == ["A", "B"]
    # With periods of 1.0 and 0.93 s, the phases complete a cycle in 14 pulses.
    assert got["burials"][0]["masked_share"] == pytest.approx(
        got["burials"][0]["long_run_masked_share"], abs=0.08
    )
    assert "again after 13 s" in run("overlap", DEMO)


@pytest.mark.parametrize(
    ("arguments", "error"),
    [
        (["fine", DEMO, "--burial", "Z"], UnknownRecord),
        (["fine", "--depth-m", "-1", "--tilt-deg", "0"], OutOfModel),
        (["noise", "--quiet-range-m", "45"], BadInput),
        (["noise", "--rise-at-50cm-db", "0"], OutOfModel),
        (["range-test", "--coaxial", "0"], BadInput),
        (["overlap", DEMO, "--minutes", "-1"], OutOfModel),
    ],
)
def test_contract_requests_outside_the_model_are_refused(
    arguments: list[str], error: type[ColdfieldError]
) -> None:
    with pytest.raises(error):
        run(*arguments)


@pytest.mark.parametrize(
    "arguments", [["fine"], ["fine", "--depth-m", "1"], ["fine", DEMO, "--depth-m", "1", "--tilt-deg", "3"]]
)
def test_contract_half_a_question_ends_in_exit_2(arguments: list[str]) -> None:
    assert CliRunner().invoke(group, arguments).exit_code == 2
