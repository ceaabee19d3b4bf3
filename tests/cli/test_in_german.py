"""Commands and pictures of a drill follow the language; names and ids stay unchanged."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from coldfield.app.drills.files import load_drill
from coldfield.app.hearing.pictures import write_fine_search_chart, write_hearing_map
from coldfield.app.records.data import Data, writing
from coldfield.cli.main import group
from coldfield.records.folder import Folder
from coldfield.words import catalogue, languages, speaking
from example_records import a_small_season

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
    ("strip-width", DEMO),
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


TYPED_WRONG = (
    ("signal", DEMO),
    ("signal", DEMO, "--at", "1"),
    ("range-test", "--coaxial", "x"),
    ("fine",),
)


@pytest.mark.parametrize("arguments", TYPED_WRONG, ids=" ".join)
@pytest.mark.parametrize("language", OTHERS)
def test_contract_what_was_typed_wrong_is_told_in_another_language(
    language: str, arguments: tuple[str, ...]
) -> None:
    def told(tag: str) -> str:
        done = CliRunner().invoke(group, ["--language", tag, *arguments])
        assert done.exit_code == 2
        return done.stderr.splitlines()[-1].split(": ", 1)[1].split("': ")[-1]

    assert not CODE.search(told(language))
    assert told(language) != told("en")


@pytest.mark.parametrize("language", OTHERS)
def test_contract_figures_of_tables_end_where_they_do_in_every_row(language: str) -> None:
    for arguments, unit in ((COMMANDS[0], "dB"), (COMMANDS[-1], "%")):
        rows = [line for line in printed(language, *arguments) if re.match(r" +[0-9.,]+ c?m +[0-9]", line)]
        assert len(rows) >= 5
        assert len({(len(row), row.index(unit)) for row in rows}) == 1
        assert not [row for row in rows if catalogue(language) is not catalogue("en") and "." in row]


@pytest.mark.parametrize("language", OTHERS)
def test_contract_one_language_option_holds_for_what_a_debrief_prints_and_for_its_page(
    language: str, tmp_path: Path
) -> None:
    splits = tmp_path / "splits.csv"
    splits.write_text("time,split,burial,searcher,note\n2026-02-14T10:00:00Z,alarm,,,\n", encoding="utf-8")
    told = []
    for number, options in enumerate(((language, ""), ("", language), ("en", language))):
        page = tmp_path / f"{number}.html"
        before, after = (["--language", tag] if tag else [] for tag in options)
        asked = [*before, "debrief", DEMO, "--splits", str(splits), "--html", str(page), *after]
        done = CliRunner().invoke(group, asked, catch_exceptions=False)
        assert done.exit_code == 0, done.output
        assert f'<html lang="{language}">' in page.read_text(encoding="utf-8")
        told.append(done.stdout)
    assert len(set(told)) == 1
    assert str(catalogue("en")["command.debrief.no_finding"]) not in told[0]


@pytest.mark.parametrize("language", OTHERS)
def test_contract_commands_about_records_speak_another_language(language: str, tmp_path: Path) -> None:
    with writing(Data(Folder(tmp_path / "data")), who="a test") as database:
        a_small_season(database)

    def said(tag: str) -> str:
        data = ("--data", str(tmp_path / "data"))
        forgotten = printed(tag, "forget", *data, "ines", "--dry-run")
        return "\n".join([*forgotten, *printed(tag, "export", *data, str(tmp_path / f"{tag}.zip"))])

    english, other = said("en"), said(language)
    assert english.count("\n") == other.count("\n") > 1
    assert not CODE.search(english + other)
    assert not [words for words in re.findall(r"[a-z]{4,} [a-z]{4,}", english) if words in other]


def test_contract_the_width_names_its_survival_curve_in_the_language() -> None:
    assert "; Switzerland 1981-2020." in "\n".join(printed("en", "strip-width", DEMO))
    for language in OTHERS:
        told = "\n".join(printed(language, "strip-width", DEMO))
        assert f"; {catalogue(language)['term.curve.switzerland_1981_2020']}." in told
