"""Reference values have a source and a standing, and tests are named after the standing of their values."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from published import FOLDER, derived, from_memory, practice, published

TESTS = Path(__file__).parent
PREFIXES = {
    "derived": ("test_independent_route_", "test_property_", "test_from_memory_"),
    "from_memory": ("test_from_memory_",),
    "practice": ("test_practice_",),
}
WHOLE = 'title = "x"\n[a]\nvalue = 1\nunit = "m"\nsource = "s"\nwhere = "p. 1"\nchecked = "no"\n'


def functions() -> Iterator[tuple[Path, ast.FunctionDef, set[str]]]:
    """Yield every test with the kinds of reference values that it uses, directly or through constants of its module."""
    for path in sorted(TESTS.rglob("test_*.py")):
        if path == Path(__file__):
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        constants = {
            target.id: asked_by(node)
            for node in tree.body
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name)
        }
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                names = {n.id for n in ast.walk(node) if isinstance(n, ast.Name)}
                yield path, node, asked_by(node).union(*(constants.get(name, set()) for name in names))


def asked_by(tree: ast.AST) -> set[str]:
    calls = (node.func for node in ast.walk(tree) if isinstance(node, ast.Call))
    return {f.id for f in calls if isinstance(f, ast.Name) and f.id in ("published", *PREFIXES)}


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda p: p.stem)
def test_contract_every_reference_value_has_its_source_and_standing(path: Path) -> None:
    assert any(kind(path.stem) for kind in (published, derived, from_memory, practice))


def test_contract_a_value_without_source_or_standing_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "bad.toml"
    for text, words in (
        (WHOLE, r"\[a\] lacks standing"),
        (WHOLE.replace('source = "s"', 'standing = "seen"'), r"\[a\] lacks source"),
        (WHOLE + 'standing = "sure"\n', r"\[a\] standing must be one of seen"),
        (WHOLE.replace('title = "x"\n', "") + 'standing = "seen"\n', "has no title"),
    ):
        file.write_text(text)
        for kind in (published, derived, from_memory, practice):
            with pytest.raises(ValueError, match=words):
                kind("bad", tmp_path)
    file.write_text(WHOLE + 'standing = "memory"\n')
    assert from_memory("bad", tmp_path) == {"a": 1}
    assert published("bad", tmp_path) == derived("bad", tmp_path) == practice("bad", tmp_path) == {}


def test_contract_a_test_is_named_for_what_its_numbers_rest_on() -> None:
    # 'published' is used only if somebody else published the number.
    seen, faults = set(), []
    for path, node, asked in functions():
        place = f"{path.relative_to(TESTS)}: {node.name}"
        for kind, prefixes in PREFIXES.items():
            if kind in asked and not node.name.startswith(prefixes):
                faults.append(f"{place} rests on {kind} values")
        # An external program checks pages by the rules of a published standard, without numbers.
        numbers = "front" not in path.parts
        if numbers and node.name.startswith("test_published_") and "published" not in asked:
            faults.append(f"{place} asks for no published value")
        seen |= asked
    assert not faults, "\n".join(faults)
    assert seen == {"published", *PREFIXES}
