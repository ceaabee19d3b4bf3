"""Run the examples and claims of the documents."""

from __future__ import annotations

import os
import re
import runpy
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from coldfield.cli.main import COMMANDS
from coldfield.drill import cautions
from coldfield.words import say

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text()
GROUND = """{"type": "Polygon", "coordinates":
[[[8.10, 61.2], [8.101, 61.2], [8.101, 61.2007], [8.1, 61.2007], [8.1, 61.2]]]}"""


@pytest.fixture(scope="module")
def walk(demo_files: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("walk")
    shutil.copytree(demo_files, folder / "coldfield-demo")
    (folder / "ground.geojson").write_text(GROUND)
    return folder


def _commands(text: str) -> list[str]:
    blocks = re.findall(r"^```console\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    return [line[2:] for block in blocks for line in block.splitlines() if line.startswith("$ coldfield ")]


@pytest.mark.parametrize("command", _commands(README))
def test_contract_every_command_of_the_readme_runs(command: str, walk: Path) -> None:
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        command,
        shell=True,
        cwd=walk,
        env={**os.environ, "PATH": path},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()


def test_contract_the_readme_shows_every_command() -> None:
    shown = {command.split()[1] for command in _commands(README)}
    assert {"signal", "strip-width", "strips", "rehearse", "debrief", "new"} <= shown


def test_contract_the_readme_carries_every_caution() -> None:
    text = " ".join(README.split())
    missing = [said for line in cautions.ALL if (said := say(line, "en")) not in text]
    assert not missing


def test_contract_the_command_reference_is_what_help_says() -> None:
    script = f"import runpy; print(runpy.run_path({str(ROOT / 'design' / 'write_commands.py')!r})['reference'](), end='')"
    said = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
    assert (ROOT / "docs" / "commands.md").read_text() == said, "run python design/write_commands.py"
    assert all(f"## coldfield {name}\n" in said for name in COMMANDS)


def test_contract_the_picture_of_the_layers_is_the_contract() -> None:
    layers = runpy.run_path(str(ROOT / "design" / "draw_layers.py"))["layers"]()
    folders = {p.name for p in (ROOT / "src" / "coldfield").iterdir() if (p / "__init__.py").exists()}
    assert {name for row in layers for name in row} == folders | {
        "errors",
        "message",
        "compiled_place",
        "shipped_loops",
    }


@pytest.mark.parametrize("path", sorted([ROOT / "README.md", *ROOT.glob("docs/*.md")]), ids=lambda p: p.name)
def test_contract_links_between_documents_lead_somewhere(path: Path) -> None:
    links = re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", path.read_text())
    assert [link for link in links if not (path.parent / link).exists()] == []
