"""What commands and pictures of a drill say follows the language; names and ids stay as they are."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from coldfield.app.drills.files import load_drill
from coldfield.app.hearing.pictures import write_fine_search_chart, write_hearing_map
from coldfield.cli.main import group
from coldfield.words import catalogue, languages, speaking

DEMO = str(Path(__file__).parents[2] / "src/coldfield/app/demo/drill.json")
OTHERS = sorted(set(languages()) - {"en"})
COMMANDS = (
    ("noise", "--quiet-range-m", "45", "--today-range-m", "38"),
    ("fine", "--depth-m", "1.2", "--tilt-deg", "60"),
    ("overlap", DEMO, "--minutes", "1"),
    ("probing", "--spacing-m", "0.6,0.5"),
    ("range-test", "--coaxial", "41,44,43", "--coplanar", "34,33,35", "--upright", "22,23,25"),
    ("signal", DEMO, "--at", "40,52"),
    ("strips", DEMO, "--strip-width-m", "30"),
)
CODE = re.compile(r"\b(command|note|fault|term|picture|warning|reason|caution|change)\.[a-z_]+")


def printed(language: str, *arguments: str) -> list[str]:
    done = CliRunner().invoke(group, ["--language", language, *arguments], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout.splitlines()


@pytest.mark.parametrize("arguments", COMMANDS, ids=lambda arguments: arguments[0])
@pytest.mark.parametrize("language", OTHERS)
def test_contract_a_command_says_every_line_in_another_language(
    language: str, arguments: tuple[str, ...]
) -> None:
    english, other = printed("en", *arguments), printed(language, *arguments)
    assert len(english) == len(other)
    assert not [line for line in english + other if CODE.search(line)]
    same = [line for one, line in zip(english, other, strict=True) if one == line]
    # Lines of names and figures alone are the same in every language.
    assert not [line for line in same if re.search(r"[a-z]{4,} [a-z]{4,}", line)]


@pytest.mark.parametrize("language", OTHERS)
def test_contract_a_picture_is_drawn_in_the_language_that_is_spoken(language: str, tmp_path: Path) -> None:
    drill = load_drill(DEMO)
    with speaking(language):
        write_hearing_map(drill, str(tmp_path / "map.svg"))
        write_fine_search_chart(1.0, 0.5, str(tmp_path / "fine.svg"))
    drawn = {path.stem: path.read_text(encoding="utf-8") for path in tmp_path.glob("*.svg")}
    words = catalogue(language)
    assert str(words["picture.lowest_reading_bar"]) in drawn["map"]
    assert str(words["picture.reading_m"]) in drawn["fine"]
    assert str(catalogue("en")["picture.reading_m"]) not in drawn["fine"]
