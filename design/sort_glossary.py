"""Put docs/glossary.md in alphabetical order. Run: python design/sort_glossary.py."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

GLOSSARY = Path(__file__).parents[1] / "docs" / "glossary.md"


def main() -> None:
    """Sort the rows. If a term has two rows, write nothing, because a person has to decide."""
    lines = GLOSSARY.read_text(encoding="utf-8").splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("|---")) + 1
    rows = [line for line in lines[start:] if line.startswith("|")]
    terms = [row.split("|")[1].strip() for row in rows]
    twice = sorted(term for term, count in Counter(term.lower() for term in terms).items() if count > 1)
    if twice:
        sys.exit("docs/glossary.md has two rows for: " + ", ".join(twice))
    ordered = [row for _, row in sorted(zip(terms, rows, strict=True), key=lambda pair: pair[0].lower())]
    GLOSSARY.write_text("\n".join([*lines[:start], *ordered]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
