"""The app in three engines: a drill made, dragged and rehearsed, its hearing, a debrief played."""

from __future__ import annotations

import json
import shutil
import sys
from typing import Any

import pytest

from amount import DESK
from engine_steps import FLOWS
from engines import FIREFOX, HERE, WEBKIT, needs, used
from visiting import CHROMIUM

ENGINES = [
    pytest.param("chrome", marks=needs(CHROMIUM)),
    pytest.param("firefox", marks=needs(FIREFOX)),
    pytest.param("webkit", marks=needs(WEBKIT)),
]
EVERY_TIME = {
    ("firefox", "new drill"),
    ("webkit", "new drill"),
    ("firefox", "debrief"),
    ("webkit", "debrief"),
}
"""The steps in each run; `make desk` runs all of them. The other browser tests use Chromium."""


def done(engine: str, address: str, flow: str) -> dict[str, Any]:
    steps = json.dumps(FLOWS[flow]())
    if engine == "webkit":
        return used("xvfb-run", "-a", sys.executable, str(HERE / "steps_in_webkit.py"), address, steps)
    node = shutil.which("node")
    assert node
    program = str(FIREFOX if engine == "firefox" else CHROMIUM)
    return used(node, str(HERE / "steps_in_puppeteer.mjs"), engine, program, address, steps)


@pytest.mark.desk
@pytest.mark.parametrize("engine", ENGINES)
def test_contract_the_main_work_is_done_in_each_engine(site: str, engine: str) -> None:
    for flow in FLOWS:
        if not DESK and (engine, flow) not in EVERY_TIME:
            continue
        seen = done(engine, site, flow)
        print(engine, flow, seen)
        assert "failed" not in seen
        assert seen["errors"] == []
        if flow == "new drill":
            moved = [b - a for a, b in zip(seen["before"], seen["after"], strict=True)]
            assert moved == pytest.approx([60, -40], abs=3)
