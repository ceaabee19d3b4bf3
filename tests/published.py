"""Values that others published, each with its source; the loader refuses one that lacks a field."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "reference"
FIELDS = ("value", "unit", "source", "where", "checked")


def published(name: str, folder: Path = FOLDER) -> dict[str, Any]:
    """Return {entry: value} of tests/reference/NAME.toml.

    Raises ValueError naming every entry that lacks its value, unit, source, where or checked.
    """
    with (folder / f"{name}.toml").open("rb") as file:
        table = tomllib.load(file)
    faults = [] if str(table.pop("title", "")).strip() else [f"{name}: has no title"]
    for entry, fields in table.items():
        missing = [f for f in FIELDS if not isinstance(fields, dict) or not str(fields.get(f, "")).strip()]
        if missing:
            faults.append(f"{name}: [{entry}] lacks {', '.join(missing)}")
    if faults:
        raise ValueError("; ".join(faults))
    return {entry: fields["value"] for entry, fields in table.items()}
