"""The clock in Firefox and in Safari's engine, at phone size. This does not replace tests on real phones."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

from clock_visits import hosted
from engines import FIREFOX, HERE, WEBKIT, needs, used


@needs(FIREFOX)
@pytest.mark.parametrize("way", ["host", "file"])
def test_contract_firefox_keeps_splits_over_a_reload_and_a_kill(tmp_path: Path, way: str) -> None:
    node = shutil.which("node")
    assert node
    with hosted(tmp_path / "host") as host:
        address = host if way == "host" else (tmp_path / "host" / "index.html").as_uri()
        seen = used(node, str(HERE / "clock_in_firefox.mjs"), address, str(tmp_path / "profile"))
    print(way, seen)
    assert seen["kept"].startswith("first signal ")
    assert seen["reloaded"]
    assert seen["killed"]
    assert seen["checked"]
    assert ["Storage that outlasts the page", "works"] in seen["here"]


@needs(WEBKIT)
@pytest.mark.parametrize("way", ["host", "file"])
def test_contract_safaris_engine_keeps_splits_over_a_reload(tmp_path: Path, way: str) -> None:
    with hosted(tmp_path / "host") as host:
        address = host if way == "host" else (tmp_path / "host" / "index.html").as_uri()
        seen = used("xvfb-run", "-a", sys.executable, str(HERE / "clock_in_webkit.py"), address)
    print(way, seen)
    assert seen["kept"].startswith("first signal ")
    assert seen["reloaded"]
    assert seen["checked"]
    assert ["Storage that outlasts the page", "works"] in seen["here"]
