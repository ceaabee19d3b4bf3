import json
import os
import subprocess
import sys

import click
import pytest

from coldfield.cli.main import COMMANDS, main
from coldfield.words import languages

HEAVY = ("numpy", "scipy", "numba", "shapely", "matplotlib", "pydantic", "fastapi", "sqlalchemy", "rich")


def _run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "coldfield", *words], capture_output=True, text=True, timeout=60, check=False
    )


def test_contract_help_loads_nothing_heavy() -> None:
    # Holds the start to help below a third of a second without timing it.
    script = (
        "import sys; from coldfield.cli.main import group\n"
        "try: group(['--help'])\n"
        "except SystemExit: pass\n"
        "print([m for m in sys.modules if m.split('.')[0] in {HEAVY}], file=sys.stderr)".replace(
            "{HEAVY}", repr(HEAVY)
        )
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
    assert all(name in done.stdout for name in COMMANDS)


@pytest.mark.parametrize(("given", "taken"), [(None, "1"), ("3", "3")])
def test_contract_algebra_takes_one_thread_where_nothing_else_is_said(monkeypatch, given, taken) -> None:
    monkeypatch.setattr(os, "environ", {} if given is None else {"OPENBLAS_NUM_THREADS": given})
    monkeypatch.setattr(sys, "argv", ["coldfield", "--version"])
    with pytest.raises(SystemExit):
        main()
    assert os.environ["OPENBLAS_NUM_THREADS"] == taken


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_contract_every_command_has_help_and_says_what_the_list_says(name: str) -> None:
    from importlib import import_module

    command = import_module(COMMANDS[name][0]).command
    assert command.name == name
    assert command.help
    assert all(p.help for p in command.params if isinstance(p, click.Option))


def test_contract_faults_are_one_line_each_and_exit_2(tmp_path) -> None:
    drill = tmp_path / "bad.json"
    drill.write_text(
        '{"format": "coldfield-drill/1", "name": "x", "site": {}, "burials": [], "searchers": []}'
    )
    done = _run("signal", str(drill), "--at", "1,2", "--json")
    assert done.returncode == 2
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert [line.startswith(f"coldfield: {drill}: ") for line in lines] == [True] * 4
    assert "site.origin: is missing" in lines[0]


def test_contract_a_missing_file_is_one_line() -> None:
    done = _run("strips", "nowhere.json")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "coldfield: nowhere.json: no such file; check the path\n"


def test_contract_schema_is_json() -> None:
    done = _run("schema")
    assert done.returncode == 0
    assert json.loads(done.stdout)["title"] == "Coldfield drill file, version 1"


def test_contract_a_fault_is_said_in_the_language_that_is_asked_for(monkeypatch, tmp_path) -> None:
    expected = "coldfield: nowhere.json: keine solche Datei; den Pfad prüfen\n"
    done = _run("--language", "de-AT", "strips", "nowhere.json")
    assert (done.returncode, done.stdout, done.stderr) == (2, "", expected)
    monkeypatch.setenv("COLDFIELD_LANGUAGE", "de")
    drill = tmp_path / "2.1.json"
    drill.write_text('{"format": "coldfield-drill/1"}')
    assert _run("strips", str(drill)).stderr.splitlines()[0] == f"coldfield: {drill}: name: fehlt"
    assert "no such file" in _run("--language", "en", "strips", "nowhere.json").stderr


def test_contract_a_language_without_words_is_one_line_with_those_there_are() -> None:
    done = _run("--language", "xx", "schema")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == f"coldfield: --language: 'xx' is none of {', '.join(languages())}\n"


def test_contract_a_made_up_language_in_a_folder_is_spoken(monkeypatch, tmp_path) -> None:
    folder = tmp_path / "zz"
    folder.mkdir()
    (folder / "language.json").write_text('{"name": "Zzyr", "locale": "zz"}')
    (folder / "own.json").write_text('{"fault.no_such_file": "zon fil"}')
    monkeypatch.setenv("COLDFIELD_WORDS", str(tmp_path))
    assert _run("--language", "zz", "strips", "nowhere.json").stderr == "coldfield: nowhere.json: zon fil\n"
    # A text without a translation is shown in English.
    (tmp_path / "a folder").mkdir()
    assert "is a folder; name a file in it" in _run("--language", "zz", "strips", str(tmp_path)).stderr
    assert f"is none of {', '.join(languages())}" in _run("--language", "yy", "schema").stderr
