"""Compiled loops are cached by their source text, wherever the package is installed."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import numba
import pytest

from coldfield import compiled_place
from coldfield.beacon.compiled import stamped
from coldfield.compiled_place import MOST_KEPT, KeptByText, is_kept


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Cache compiled loops in a folder of the test."""
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path / "kept"))
    return tmp_path / "kept"


def installed(place: Path, factor: int = 2) -> Any:
    """Write a module to a folder and load the function in it."""
    place.mkdir(parents=True, exist_ok=True)
    (place / "loops.py").write_text(f"def times(x):\n    return {factor} * x\n")
    spec = importlib.util.spec_from_file_location("loops", place / "loops.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.times


def looped(place: Path, stamp: str, factor: int = 2) -> Any:
    return numba.njit(cache=True)(stamped(installed(place, factor), stamp))


def test_contract_another_installation_of_the_same_text_compiles_nothing(
    tmp_path: Path, folder: Path
) -> None:
    first = looped(tmp_path / "one", "a" * 64)
    assert not is_kept(first)
    assert first(3) == 6
    second = looped(tmp_path / "two", "a" * 64)
    assert is_kept(second)
    assert second(3) == 6
    assert sum(second.stats.cache_hits.values()) == 1
    assert [path.name for path in folder.iterdir()] == ["a" * 16]


def test_contract_another_text_is_compiled_anew(tmp_path: Path, folder: Path) -> None:
    looped(tmp_path / "one", "a" * 64)(3)
    other = looped(tmp_path / "two", "b" * 64, 5)
    assert not is_kept(other)
    assert other(3) == 15
    assert {path.name for path in folder.iterdir()} == {"a" * 16, "b" * 16}


def test_contract_old_texts_are_let_go(tmp_path: Path, folder: Path) -> None:
    function = installed(tmp_path / "one")
    for k in range(MOST_KEPT + 5):
        KeptByText.from_function(stamped(function, f"{k:064d}"[::-1]), "loops.py")
    assert len(list(folder.iterdir())) == MOST_KEPT
    assert (folder / f"{MOST_KEPT + 4:064d}"[::-1][:16]).is_dir()


def test_contract_where_nothing_can_be_written_numba_looks_elsewhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path / "file"))
    function = stamped(installed(tmp_path / "one"), "c" * 64)
    assert KeptByText.from_function(function, "loops.py") is None
    assert KeptByText.from_function(installed(tmp_path / "two"), "loops.py") is None
    assert compiled_place.base() == tmp_path / "file"
