"""No mathematical module imports itself through others, not even inside a function."""

from __future__ import annotations

import ast
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import coldfield

ROOT = Path(coldfield.__file__).parent
MATHS = ("drill", "survival", "beacon", "search", "rescue", "debrief")


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(("coldfield", *parts[: -1 if parts[-1] == "__init__" else None]))


@cache
def imports() -> dict[str, set[str]]:
    """Return each module with its imports anywhere in its text; re-exports of a package are resolved."""
    texts = {name_of(path): path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py")}
    found: dict[str, set[str]] = {name: set() for name in texts}
    for name, text in texts.items():
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.Import):
                found[name] |= {alias.name for alias in node.names} & texts.keys()
            elif isinstance(node, ast.ImportFrom) and node.module in texts:
                inner = {f"{node.module}.{alias.name}" for alias in node.names}
                found[name] |= (inner & texts.keys()) or {node.module}
    return found


@pytest.mark.parametrize("package", MATHS)
def test_contract_no_circle_of_imports_within_a_package(package: str) -> None:
    own = f"coldfield.{package}"
    graph = {
        name: {one for one in needed if one.startswith(own)} - {name}
        for name, needed in imports().items()
        if name.startswith(own)
    }
    assert len(graph) > 1
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        pytest.fail(" -> ".join(error.args[1]))


def test_contract_folders_of_the_search_need_each_other_one_way_only() -> None:
    # Lanes first, then widths, then modules that use both, so that a folder can be read without the next one.
    order = ["lanes", "width", "detection", "pinpointing"]
    for name, needed in imports().items():
        for one in needed:
            if name.startswith("coldfield.search.") and one.startswith("coldfield.search."):
                here, there = name.split(".")[2], one.split(".")[2]
                assert order.index(there) <= order.index(here), f"{name} needs {one}"
