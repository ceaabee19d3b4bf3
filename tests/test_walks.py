"""The three walks of docs/architecture.md run the files that they name."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "coldfield"


def _walks() -> dict[str, list[str]]:
    text = (ROOT / "docs" / "architecture.md").read_text(encoding="utf-8")
    section = text.split("## Three walks")[1].split("\n## ")[0]
    parts = re.findall(r"\*\*(.+?)\*\*, in (\d+) files: (.+?)(?=\n\n|\Z)", section, re.DOTALL)
    found = {name: re.findall(r"`(\S+\.(?:py|ts|svelte))`", words) for name, _, words in parts}
    assert [len(files) for files in found.values()] == [int(count) for _, count, _ in parts]
    return found


def test_contract_every_file_of_a_walk_is_there() -> None:
    for files in _walks().values():
        for file in files:
            assert (ROOT / file if file.startswith("frontend/") else SOURCE / file).is_file(), file


@pytest.mark.parametrize("name", ["A drill to its hearing map", "A split to an export"])
def test_contract_a_walk_passes_the_files_it_names(name: str, tmp_path: Path) -> None:
    spec = importlib.util.spec_from_file_location("walks", ROOT / "design" / "walks.py")
    assert spec
    assert spec.loader
    walks = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(walks)
    walk = walks.drill_to_hearing_map if "hearing" in name else walks.split_to_export
    passed = set(walk(tmp_path))
    # A route runs only for a request, and code inlined into a compiled loop runs outside Python.
    named = {file for file in _walks()[name] if not file.startswith(("web/", "frontend/", "beacon/formulas"))}
    assert named <= passed
