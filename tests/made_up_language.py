"""An invented language, as a folder that anybody could add."""

from __future__ import annotations

import json
from pathlib import Path

from coldfield.words.languages import ABOUT, parts_of

TAG = "qaa"  # reserved for private use by ISO 639-2
NAME = "Snowish"
MARK = "*"


def write_language(folder: Path) -> Path:
    """Write a language with the English text between marks, and with Swiss numbers and plurals."""
    own = folder / TAG
    own.mkdir(parents=True)
    (own / ABOUT).write_text(json.dumps({"name": NAME, "locale": "de-CH"}))
    for part, words in parts_of("en").items():
        (own / f"{part}.json").write_text(
            json.dumps({code: marked(entry) for code, entry in words.items()}), encoding="utf-8"
        )
    return folder


def marked(entry):
    """Return words between marks, each of their plural forms."""
    if isinstance(entry, str):
        return f"{MARK}{entry}{MARK}"
    return {form: f"{MARK}{words}{MARK}" for form, words in entry.items()}
