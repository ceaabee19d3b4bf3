"""Compiled loops are compiled again when any of their sources changes."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import coldfield
from coldfield.beacon.compiled import FORMULAS, stamp_of
from coldfield.rescue.kernel.compiled import PARTS

ROOT = Path(coldfield.__file__).parent
KERNEL = "coldfield.rescue.kernel."
GATES = ("coldfield.beacon.compiled", "coldfield.rescue.kernel.compiled")


def name_of(path: Path) -> str:
    return ".".join(["coldfield", *path.relative_to(ROOT).with_suffix("").parts])


def imported(tree: ast.Module) -> set[str]:
    """The compiled modules of this project that a module imports at its top."""
    return {
        node.module
        for node in tree.body
        if isinstance(node, ast.ImportFrom)
        and node.module
        and node.module.startswith("coldfield.")
        and node.module != "coldfield.shipped_loops"
    }


TEXTS = {name_of(path): path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py")}
LOOPS = {
    name: ast.parse(text)
    for name, text in TEXTS.items()
    if name not in GATES and imported(ast.parse(text)) & set(GATES)
}


def stamped_with(name: str, tree: ast.Module) -> set[str]:
    """The modules in the stamp of a module's loops."""
    if name.startswith(KERNEL):
        return {
            *FORMULAS,
            "coldfield.beacon.field",
            "coldfield.beacon.receiver",
            *(KERNEL + p for p in PARTS),
        }
    calls = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "compiled"
    ]
    if not calls:  # its functions are inlined into the loops of others, whose stamps include it
        assert "compiled" not in {n.id for n in ast.walk(tree) if isinstance(n, ast.Name)}
        return imported(tree) | {name}
    for call in calls:
        assert ast.unparse(call.args[0]) == "__name__"
    first = calls[0].args[1:]
    return {*FORMULAS, name, *(str(ast.literal_eval(one)) for one in first)}


def test_contract_only_three_modules_ask_for_the_compiler() -> None:
    asking = {name for name, text in TEXTS.items() if "from numba" in text or "import numba" in text}
    assert asking == {*GATES, "coldfield.compiled_place"}
    assert len(LOOPS) > 8


@pytest.mark.parametrize("name", LOOPS)
def test_contract_all_that_is_compiled_into_a_loop_counts_for_its_stamp(name: str) -> None:
    tree = LOOPS[name]
    assert imported(tree) | {name} <= stamped_with(name, tree)


def test_contract_the_stamp_changes_with_any_module_of_it() -> None:
    stamps = {stamp_of(), stamp_of("coldfield.beacon.field"), stamp_of("coldfield.beacon.hearing_kernel")}
    assert len(stamps) == 3
