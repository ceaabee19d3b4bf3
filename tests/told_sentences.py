"""Every sentence the service can say on a page, read out of the source that makes it.

Each text of two words or more is a sentence until it is listed as something else, so a new one is
found without being asked for. Where a sentence has a value, an example stands in its place: a number
where it is formatted as one, a name otherwise. `python tests/told_sentences.py` writes the list that
the front end's tests translate.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path

from told_elsewhere import ALTERNATIVES, NOT_SAID, UNSAID_MODULES

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "coldfield"
LIST = Path(__file__).parent / "data" / "told_sentences.json"

NAMES = ("Qaro", "Qebi", "Qivo", "Qolu", "Quma", "Qyre", "Qanu", "Qelo")


def collected() -> list[str]:
    """Return the sentences of every module that speaks to a page, sorted, each once."""
    found: set[str] = set()
    for path in sorted(SOURCE.rglob("*.py")):
        name = str(path.relative_to(SOURCE))
        if not name.startswith(UNSAID_MODULES):
            found |= set(_Module(path.read_text(encoding="utf-8"), ALTERNATIVES.get(name, {})).sentences())
    return sorted(found)


def written() -> list[str]:
    """Return the list as it is checked in."""
    return list(json.loads(LIST.read_text(encoding="utf-8")))


class _Module:
    """The texts of one module, with names that stand for texts replaced by them."""

    def __init__(self, source: str, alternatives: dict[str, tuple[str, ...]]) -> None:
        self.tree = ast.parse(source)
        self.alternatives = alternatives
        self.used: set[int] = set()
        self.asked: list[str] = []
        self.texts: dict[str, list[ast.expr]] = {}
        self._gather(ast.Module([one for one in self.tree.body if isinstance(one, ast.Assign)], []))

    def _gather(self, scope: ast.AST) -> None:
        """Learn which names stand for which texts there."""
        for node in ast.walk(scope):
            if isinstance(node, ast.Assign):
                for target in node.targets:
                    self._assigned(target, node.value)
        for node in ast.walk(scope):
            if isinstance(node, ast.AugAssign) and isinstance(node.target, ast.Name):
                self._added(node.target.id, node.value)

    def _assigned(self, target: ast.expr, value: ast.expr) -> None:
        if isinstance(target, ast.Name) and target.id not in {
            n.id for n in ast.walk(value) if isinstance(n, ast.Name)
        }:
            self.texts.setdefault(target.id, []).append(value)
        elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
            for one, given in zip(target.elts, value.elts, strict=True):
                self._assigned(one, given)

    def _added(self, name: str, value: ast.expr) -> None:
        """A text that may get an end: with it, and without."""
        for one in [text for text in self.texts.get(name, ()) if self._read(text) and self._read(value)]:
            self.texts[name].append(ast.BinOp(one, ast.Add(), value))
            self.used.add(id(value))

    def sentences(self) -> Iterator[str]:
        for node, texts in list(self._texts_in(self.tree, _docstrings(self.tree))):
            for text in texts if id(node) not in self.used else ():
                shown = _with_examples(text)
                if _is_sentence(text) and not NOT_SAID.fullmatch(shown):
                    yield shown

    def _texts_in(self, node: ast.AST, skip: set[int]) -> Iterator[tuple[ast.AST, list[str]]]:
        if id(node) in skip or (isinstance(node, (ast.AnnAssign, ast.Assign)) and _is_type(node.value)):
            return
        if isinstance(node, ast.FunctionDef):
            yield from self._texts_of(node, skip)
            return
        if isinstance(node, (ast.Constant, ast.JoinedStr, ast.BinOp, ast.IfExp)):
            texts = self._read(node)
            if texts is not None:
                yield node, texts
                return
        for child in ast.iter_child_nodes(node):
            yield from self._texts_in(child, skip)

    def _texts_of(self, function: ast.FunctionDef, skip: set[int]) -> Iterator[tuple[ast.AST, list[str]]]:
        outside = self.texts
        self.texts = {name: list(texts) for name, texts in outside.items()}
        self._gather(function)
        lengthened = [one for texts in self.texts.values() for one in texts if isinstance(one, ast.BinOp)]
        yield from [(one, self._read(one) or []) for one in lengthened]
        for child in ast.iter_child_nodes(function):
            yield from self._texts_in(child, skip)
        self.texts = outside

    def _read(self, node: ast.expr, value: bool = False) -> list[str] | None:
        """Return every text an expression may be, values in braces; None where it is no text."""
        if isinstance(node, ast.Constant):
            return [node.value] if isinstance(node.value, str) else None
        if isinstance(node, ast.JoinedStr):
            parts = [self._piece(part) for part in node.values]
            return ["".join(choice) for choice in product(*parts)]
        if isinstance(node, ast.IfExp):
            one, other = self._read(node.body, value), self._read(node.orelse, value)
            return None if one is None or other is None else [*one, *other]
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
            left, right = self._read(node.left, True), self._read(node.right, True)
            if left is None and right is None:
                return None
            return [a + b for a in left or ["{name}"] for b in right or ["{name}"]]
        if value and isinstance(node, ast.Name):
            return self._named(node.id)
        return None

    def _named(self, name: str) -> list[str] | None:
        if name in self.alternatives:
            return list(self.alternatives[name])
        given = [] if name in self.asked else self.texts.get(name, [])
        self.asked.append(name)
        read = [self._read(one) for one in given]
        self.asked.pop()
        if not given or any(texts is None for texts in read):
            return None
        self.used |= {id(one) for one in given}
        return list(dict.fromkeys(text for texts in read for text in texts or ()))

    def _piece(self, part: ast.expr) -> list[str]:
        if not isinstance(part, ast.FormattedValue):
            return self._read(part) or []
        spoken = ast.unparse(part.value)
        if spoken in self.alternatives:
            return list(self.alternatives[spoken])
        texts = None if part.format_spec else self._read(part.value, True)
        if texts is not None:
            return texts
        spec = ast.unparse(part.format_spec)[2:-1] if part.format_spec else ""
        number = bool(re.search(r"[dfgi%e]$", spec)) or spoken.isupper() or _counts(spoken)
        return ["{" + (spec or "d" if number else "name") + "}"]


def _counts(spoken: str) -> bool:
    counted = (
        "len(",
        "number",
        "line",
        "waiting",
        "missing",
        "again",
        "jumps",
        "gone",
        "elsewhere",
        "newest",
    )
    return "//" in spoken or any(re.search(rf"\b{re.escape(word)}", spoken) for word in counted)


def _docstrings(tree: ast.AST) -> set[int]:
    blocks = [node.body for node in ast.walk(tree) if isinstance(getattr(node, "body", None), list)]
    return {id(part.value) for block in blocks for part in block if _is_text(part)}


def _is_text(part: object) -> bool:
    return isinstance(part, ast.Expr) and isinstance(part.value, ast.Constant)


def _is_type(node: ast.expr | None) -> bool:
    return isinstance(node, ast.Subscript) and ast.unparse(node).startswith(("Literal", "Annotated"))


def _is_sentence(text: str) -> bool:
    bare = re.sub(r"\{[^}]*\}", "", text)
    words = re.findall(r"[A-Za-z]{2,}", bare)
    return len(words) >= 2 and " " in bare.strip() and not text.startswith(("<", "/", "%", ";", ",", " "))


def _with_examples(text: str) -> str:
    names, numbers = iter(NAMES), iter(range(11, 99, 6))

    def example(found: re.Match[str]) -> str:
        spec = found.group(1)
        if spec == "name":
            return next(names)
        number = next(numbers)
        sign = "+" if spec.startswith("+") else ""
        if spec.endswith("%"):
            return f"{sign}{number}%"
        return f"{sign}{number}.5" if re.search(r"\.[1-9]f$", spec) else f"{sign}{number}"

    return re.sub(r"\{([^}]*)\}", example, text)


if __name__ == "__main__":
    LIST.write_text(json.dumps(collected(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
