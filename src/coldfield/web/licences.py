"""The libraries that are shipped or installed with Coldfield, and their licences."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import metadata

from packaging.requirements import Requirement


@dataclass(frozen=True, slots=True)
class Library:
    """An installed library, as it describes itself."""

    name: str
    version: str
    licence: str


def libraries() -> tuple[Library, ...]:
    """Return the Python libraries that Coldfield depends on, directly or indirectly, by name.

    Libraries of extras are included if they are installed.
    """
    found: dict[str, Library] = {}
    optional = ("", *(metadata.metadata("coldfield").get_all("Provides-Extra") or ()))
    asked = [(one, optional) for one in metadata.requires("coldfield") or ()]
    while asked:
        text, extras = asked.pop()
        one = Requirement(text)
        if one.marker is not None and not any(one.marker.evaluate({"extra": name}) for name in extras):
            continue
        try:
            there = metadata.distribution(one.name)
        except metadata.PackageNotFoundError:
            continue
        name = there.metadata["Name"]
        if name not in found:
            found[name] = Library(name, there.version, _licence(there.metadata))
            asked += [(more, ("", *one.extras)) for more in there.requires or ()]
    return tuple(sorted(found.values(), key=lambda library: library.name.lower()))


def _licence(told: metadata.PackageMetadata) -> str:
    """Return a library's licence: an expression, else its classifiers, else the first line of its text."""
    kinds = [
        line.rsplit(" :: ", 1)[-1]
        for line in told.get_all("Classifier") or ()
        if line.startswith("License :: ") and line.count(" :: ") > 1
    ]
    expression, plain = (_first(told, key) for key in ("License-Expression", "License"))
    return expression or ", ".join(kinds) or (plain.splitlines()[0] if plain else "see its own files")


def _first(told: metadata.PackageMetadata, key: str) -> str:
    return next(iter(told.get_all(key) or ()), "").strip()


def licences_text(pages: str) -> str:
    """Return the list of libraries, then the licence texts of the libraries in the app's pages."""
    lines = [f"{one.name} {one.version}: {one.licence}" for one in libraries()]
    beside = "Python libraries that are installed beside it, each with its licence text among its own files:"
    return "\n".join(
        ["Coldfield: Apache-2.0", "", beside, "", *lines, "", "In the pages of the app:", "", pages]
    )
