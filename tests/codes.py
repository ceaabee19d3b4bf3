"""Every message code in the source, read from the source itself."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TypeGuard

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "coldfield"
PAGES = ROOT / "frontend" / "src"

SORTS = "fault|note|finding|reason|warning|caution|term|place|picture|command|unit|service_page|hut_page"
"""The first parts of codes in Python."""

_CODE = re.compile(rf"(?:{SORTS})\.[a-z0-9_.]+")
_MAKERS = ("message", "word", "Message")
_FAMILY = re.compile(r"`([\w.]+\.)\$\{")
_PLACEHOLDER = re.compile(r"\{(\w+)\}")


class _Text(ast.Constant):
    value: str


@dataclass(frozen=True)
class Made:
    """A code used somewhere; `values` has the names of its values, None if they cannot be read."""

    code: str
    where: str
    values: frozenset[str] | None


@cache
def made() -> tuple[Made, ...]:
    """Return every code that a module uses: as a literal, a choice of two, or from a table of literals."""
    return tuple(one for path in sorted(SOURCE.rglob("*.py")) for one in _made_in(path))


@cache
def said_by_pages() -> tuple[frozenset[str], tuple[str, ...]]:
    """Return every quoted text of the front end, and the prefixes of families of keys: `` `phase.${...}` ``."""
    paths = [p for p in PAGES.rglob("*") if p.suffix in (".svelte", ".ts") and ".test." not in p.name]
    text = "\n".join(path.read_text(encoding="utf-8") for path in paths)
    return frozenset(re.findall(r"'([\w.]+)'", text)), tuple(sorted(set(_FAMILY.findall(text))))


def placeholders(entry: str | dict[str, str]) -> set[str]:
    """Return the names of the placeholders in an entry."""
    texts = [entry] if isinstance(entry, str) else entry.values()
    return {name for text in texts for name in _PLACEHOLDER.findall(text)}


def _made_in(path: Path) -> Iterator[Made]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    tables = {
        node.target.id if isinstance(node, ast.AnnAssign) else node.targets[0].id: node.value
        for node in tree.body
        if isinstance(node, ast.Assign | ast.AnnAssign)
        and isinstance(node.target if isinstance(node, ast.AnnAssign) else node.targets[0], ast.Name)
    }
    where = str(path.relative_to(SOURCE))
    docs = {id(text) for text in _docstrings(tree)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _name(node.func) in _MAKERS and node.args:
            for code in _codes(node.args[0], tables):
                yield Made(code, f"{where}:{node.lineno}", _values(node))
        elif _is_text(node) and id(node) not in docs and _CODE.fullmatch(node.value):
            yield Made(node.value, f"{where}:{node.lineno}", None)


def _is_text(node: ast.AST) -> TypeGuard[_Text]:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def _name(called: ast.expr) -> str:
    return called.id if isinstance(called, ast.Name) else getattr(called, "attr", "")


def _codes(told: ast.expr, tables: dict[str, ast.expr | None]) -> Iterator[str]:
    """The codes that a first argument can be."""
    if isinstance(told, ast.Constant) and isinstance(told.value, str):
        yield told.value
    elif isinstance(told, ast.IfExp):
        yield from _codes(told.body, tables)
        yield from _codes(told.orelse, tables)
    elif isinstance(told, ast.Subscript) and isinstance(told.value, ast.Name):
        table = tables.get(told.value.id)
        for value in table.values if isinstance(table, ast.Dict) else ():
            yield from _codes(value, tables)


def _values(call: ast.Call) -> frozenset[str] | None:
    if _name(call.func) == "Message":
        given = call.args[1] if len(call.args) > 1 else ast.Dict([], [])
        keys = given.keys if isinstance(given, ast.Dict) else [None]
        names = [key.value if isinstance(key, ast.Constant) else None for key in keys]
    else:
        names = [keyword.arg for keyword in call.keywords]
    return None if None in names else frozenset(str(name) for name in names)


def _docstrings(tree: ast.AST) -> Iterator[ast.expr]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield node.value
