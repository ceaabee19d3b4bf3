"""docs/glossary.md contains the terms of the trade and of the field, each once, and each in use."""

from __future__ import annotations

import importlib.util
import re
import subprocess
from pathlib import Path
from types import ModuleType

import pytest

import coldfield.drill
from coldfield.drill.run import SPLIT_KINDS
from coldfield.rescue.played import PHASES

ROOT = Path(__file__).parents[1]
GLOSSARY = ROOT / "docs" / "glossary.md"
UNITS = {"", "1", "s", "m", "m²", "m³", "m/s", "rad", "A/m", "A·m²", "Hz", "dB", "kg/m³", "1/m"}


def rows(text: str) -> list[list[str]]:
    table = [line for line in text.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in table[1:]]


def terms() -> list[str]:
    return [row[0] for row in rows(GLOSSARY.read_text(encoding="utf-8"))]


def as_words(name: str) -> str:
    """Return the words of a class or a key: AsBuried and as_buried are 'as buried'."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).replace("_", " ").lower()


def sorting() -> ModuleType:
    spec = importlib.util.spec_from_file_location("sort_glossary", ROOT / "design" / "sort_glossary.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_contract_the_glossary_holds_terms_with_units_and_meanings_each_once_in_order() -> None:
    found = rows(GLOSSARY.read_text(encoding="utf-8"))
    assert 130 <= len(found) <= 200  # about 150 terms: a list for people, not one of parameters
    for row in found:
        assert len(row) == 3, row
        term, unit, meaning = row
        assert re.fullmatch(r"[A-Za-z0-9 -]+", term), f"{term}: a term is words"
        assert unit in UNITS, f"{term}: unit {unit}"
        assert len(meaning.split()) > 1, f"{term}: has no meaning"
    names = [term.lower() for term in terms()]
    assert names == sorted(set(names))


def test_contract_every_noun_split_and_phase_is_explained() -> None:
    nouns = [as_words(name) for name in coldfield.drill.__all__ if name[1:] != name[1:].upper()]
    splits = [as_words(kind) for kind in SPLIT_KINDS]
    wanted = {*nouns, *splits} - {"splits"}
    known = set(terms())
    assert not wanted - known, f"add to docs/glossary.md: {sorted(wanted - known)}"
    assert len(wanted) > 15
    for phase in PHASES:  # the row of 'phase' names them all
        assert re.search(rf"\b{phase}\b", GLOSSARY.read_text(encoding="utf-8"))


def test_contract_every_term_is_in_use() -> None:
    texts = [
        path.read_text(encoding="utf-8")
        for folder, pattern in (("src/coldfield", "*.py"), ("src/coldfield", "*.json"), ("docs", "*.md"))
        for path in sorted((ROOT / folder).rglob(pattern))
        if path != GLOSSARY and "static" not in path.parts
    ]
    used = re.sub(r"[\s_-]+", " ", " ".join(texts)).lower()
    unused = [term for term in terms() if term.lower().replace("-", " ") not in used]
    assert not unused, f"no text says these; take them out of docs/glossary.md: {unused}"


def test_contract_two_meanings_of_a_term_are_never_merged_into_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Git must report a conflict, and sorting must not choose between two rows.
    asked = subprocess.run(
        ["git", "check-attr", "merge", "docs/glossary.md"], cwd=ROOT, capture_output=True, text=True
    )
    assert "union" not in asked.stdout
    script = sorting()
    copy = tmp_path / "glossary.md"
    head = "| term | unit | meaning |\n|---|---|---|\n"
    copy.write_text(head + "| run | | one thing |\n| Lane | | a line |\n| Run | | another thing |\n")
    monkeypatch.setattr(script, "GLOSSARY", copy)
    before = copy.read_text()
    with pytest.raises(SystemExit, match="two rows for: run"):
        script.main()
    assert copy.read_text() == before
    copy.write_text(head + "| run | | one thing |\n| Lane | | a line |\n")
    script.main()
    assert copy.read_text() == head + "| Lane | | a line |\n| run | | one thing |\n"
