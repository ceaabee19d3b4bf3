"""Reference values, each with its source and standing; the loader refuses a value without them.

Each kind of standing has a separate function, so that a test uses what its name says: a published value, a
derived one, one from memory, or a practice of the trade.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "reference"
FIELDS = ("value", "unit", "source", "where", "standing", "checked")
STANDINGS = {
    "seen": "the text of the source was seen",
    "second-hand": "seen only where somebody else quotes the source",
    "memory": "from memory, not seen",
    "derived": "worked out from first principles; anybody can repeat it",
    "practice": "common practice of the trade, no source",
}


def published(name: str, folder: Path = FOLDER) -> dict[str, Any]:
    """Return {entry: value} of published values in tests/reference/NAME.toml, seen or second-hand.

    Raises ValueError naming every entry that lacks a field, or has an unknown standing.
    """
    return _values(name, ("seen", "second-hand"), folder)


def derived(name: str, folder: Path = FOLDER) -> dict[str, Any]:
    """Return {entry: value} of values derived from first principles."""
    return _values(name, ("derived",), folder)


def from_memory(name: str, folder: Path = FOLDER) -> dict[str, Any]:
    """Return {entry: value} of values from memory."""
    return _values(name, ("memory",), folder)


def practice(name: str, folder: Path = FOLDER) -> dict[str, Any]:
    """Return {entry: value} of common practice without a source."""
    return _values(name, ("practice",), folder)


def _values(name: str, standings: tuple[str, ...], folder: Path) -> dict[str, Any]:
    with (folder / f"{name}.toml").open("rb") as file:
        table = tomllib.load(file)
    faults = [] if str(table.pop("title", "")).strip() else [f"{name}: has no title"]
    for entry, fields in table.items():
        missing = [f for f in FIELDS if not isinstance(fields, dict) or not str(fields.get(f, "")).strip()]
        if missing:
            faults.append(f"{name}: [{entry}] lacks {', '.join(missing)}")
        elif fields["standing"] not in STANDINGS:
            faults.append(f"{name}: [{entry}] standing must be one of {', '.join(STANDINGS)}")
    if faults:
        raise ValueError("; ".join(faults))
    return {entry: fields["value"] for entry, fields in table.items() if fields["standing"] in standings}
