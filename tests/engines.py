"""Run scripts in other browser engines."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent / "front"
FIREFOX = Path("/usr/bin/firefox-esr")
WEBKIT = Path("/usr/bin/WebKitWebDriver")
MINIBROWSER = "/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser"


def needs(path: Path) -> pytest.MarkDecorator:
    missing = not path.exists() and os.environ.get("CI") != "true"
    return pytest.mark.skipif(missing, reason=f"{path.name} is not installed")


def used(*command: str) -> dict[str, Any]:
    """Run a browser script; return its output."""
    environ = {
        **os.environ,
        "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1",
        "PYTHONPATH": str(Path(__file__).parent),
    }
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
        # End everything that it started.
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    # xvfb-run may fail while cleaning up; only the output counts.
    last = out.splitlines()[-1:]
    assert last, errors[-2000:]
    return dict(json.loads(last[0]))
