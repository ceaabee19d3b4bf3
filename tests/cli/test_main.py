import json
import subprocess
import sys

import click
import pytest

from coldfield.cli.main import COMMANDS

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
