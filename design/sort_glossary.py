"""Put docs/glossary.md in alphabetical order, each word once. Run: python design/sort_glossary.py."""

from __future__ import annotations

from pathlib import Path

GLOSSARY = Path(__file__).parents[1] / "docs" / "glossary.md"


def main() -> None:
    """Sort the rows; of two rows for one word the first stays."""
    lines = GLOSSARY.read_text().splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("|---")) + 1
    rows: dict[str, str] = {}
    for row in lines[start:]:
        if row.startswith("|"):
            rows.setdefault(row.split("|")[1].strip(), row)
    GLOSSARY.write_text("\n".join([*lines[:start], *(rows[w] for w in sorted(rows, key=str.lower))]) + "\n")


if __name__ == "__main__":
    main()
