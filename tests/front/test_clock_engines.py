"""The clock in Firefox and in Safari's engine, at phone size. An engine on a desk proves no phone."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from clock_visits import hosted

HERE = Path(__file__).parent
FIREFOX = Path("/usr/bin/firefox-esr")
WEBKIT = Path("/usr/bin/WebKitWebDriver")


def needs(path: Path) -> pytest.MarkDecorator:
    missing = not path.exists() and os.environ.get("CI") != "true"
    return pytest.mark.skipif(missing, reason=f"{path.name} is not installed")


def used(*command: str) -> dict[str, Any]:
    """Run a browser's script; return what it saw."""
    environ = {**os.environ, "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1"}
    process = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environ,
        start_new_session=True,
    )
    try:
        out, errors = process.communicate(timeout=150)
    finally:
        # Whatever it began ends with it.
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    # xvfb-run may fail at clearing up after itself; what counts is what was seen.
    last = out.splitlines()[-1:]
    assert last, errors[-2000:]
    return dict(json.loads(last[0]))


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
