"""docs/glossary.md is the one list of terms, symbols and units; this holds the code to it."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path

import coldfield

GLOSSARY = Path(__file__).parents[1] / "docs" / "glossary.md"
PACKAGES = ("drill", "survival", "beacon", "search", "rescue", "debrief")
UNITS = [
    "a_per_m",
    "ua_per_m",
    "na_per_m",
    "am2",
    "kg_m3",
    "kg_s",
    "kg",
    "m3",
    "m2",
    "m_s",
    "per_m",
    "per_s",
    "s_per_m",
    "rad_s",
    "m",
    "s",
    "min",
    "h",
    "rad",
    "deg",
    "db",
    "hz",
    "unix_s",
    "s_m",
]


def stem(name: str) -> str:
    """Return a parameter's name without its unit suffix."""
    for unit in sorted(UNITS, key=len, reverse=True):
        if name.endswith(f"_{unit}"):
            return name.removesuffix(f"_{unit}")
    return name


def _modules() -> Iterator[str]:
    for package in PACKAGES:
        root = importlib.import_module(f"coldfield.{package}")
        yield root.__name__
        for found in pkgutil.iter_modules(root.__path__):
            if not found.name.startswith("_"):
                yield f"{root.__name__}.{found.name}"


def _public_parameters() -> dict[str, str]:
    found: dict[str, str] = {}
    for name in _modules():
        module = importlib.import_module(name)
        for attribute, value in vars(module).items():
            if attribute.startswith("_") or getattr(value, "__module__", None) != name:
                continue
            if inspect.isclass(value) and dataclasses.is_dataclass(value):
                names = [field.name for field in dataclasses.fields(value)]
            elif inspect.isfunction(value):
                names = list(inspect.signature(value).parameters)
            else:
                continue
            found.update({stem(n): f"{name}.{attribute}" for n in names if not n.startswith("_")})
    return found


def _words() -> set[str]:
    rows = re.findall(r"^\| `?([^|`]+?)`? *\|", GLOSSARY.read_text(), flags=re.MULTILINE)
    return {word.strip().replace(" ", "_") for row in rows for word in row.split(",")}


def test_contract_every_public_parameter_is_in_the_glossary() -> None:
    words = _words()
    missing = {name: where for name, where in _public_parameters().items() if name not in words}
    assert not missing, "add these to docs/glossary.md: " + ", ".join(
        f"{n} ({w})" for n, w in sorted(missing.items())
    )


def test_contract_the_glossary_has_each_word_once() -> None:
    rows = re.findall(r"^\| ([^|]+?) *\|", GLOSSARY.read_text(), flags=re.MULTILINE)
    words = [row for row in rows if row not in ("word", "---")]
    assert sorted(set(words)) == sorted(words)


def test_contract_there_is_something_to_hold() -> None:
    assert coldfield.__version__
    assert len(_public_parameters()) > 20
