"""Every installed library is listed with its licence."""

from __future__ import annotations

import tomllib
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from coldfield.web.licences import libraries, licences_text

ROOT = Path(__file__).parents[2]


def test_contract_every_library_that_is_asked_for_is_listed() -> None:
    listed = {canonicalize_name(one.name): one for one in libraries()}
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = {canonicalize_name(Requirement(line).name) for line in project["dependencies"]}
    assert asked <= set(listed)
    pinned = {
        line.split("==")[0] for line in (ROOT / "constraints.txt").read_text().splitlines() if "==" in line
    }
    here = {name for name in map(canonicalize_name, pinned) if _installed(name)}
    # The tools that build the package are pinned with them, and are not shipped.
    assert here - set(listed) <= {
        "hatchling",
        "editables",
        "pathspec",
        "pluggy",
        "tomlkit",
        "trove-classifiers",
    }
    assert not {"pytest", "mypy", "playwright"} & set(listed)


def test_contract_each_says_a_licence() -> None:
    silent = [one.name for one in libraries() if one.licence == "see its own files"]
    assert silent == []
    assert "numba " in licences_text("")


def _installed(name: str) -> bool:
    try:
        metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return False
    return True
