"""What is installed is complete: the wheel alone, with no Node on the machine, shows the demo in a browser."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path
from zipfile import ZipFile

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel."""
    place = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "--no-index"]
    subprocess.run([*build, "-w", str(place), str(ROOT)], check=True, capture_output=True, timeout=180)
    (wheel,) = place.glob("*.whl")
    return wheel


def get(address: str) -> str:
    with urllib.request.urlopen(address, timeout=20) as answer:
        text: str = answer.read().decode("utf-8", errors="replace")
        return text


def test_contract_the_wheel_alone_shows_the_demo(wheel: Path, tmp_path: Path) -> None:
    installed = tmp_path / "installed"
    with ZipFile(wheel) as archive:
        archive.extractall(installed)
    empty = tmp_path / "bin"
    empty.mkdir()
    env = {**os.environ, "PATH": str(empty), "PYTHONPATH": str(installed)}
    command = [sys.executable, "-m", "coldfield", "demo", "--folder", str(tmp_path / "demo"), "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env, cwd=tmp_path) as process:
        try:
            assert process.stdout
            address = [process.stdout.readline().strip() for _ in range(2)][1]
            page = get(address)
            script, *others = re.findall(r'(?:src|href)="(/app/assets/[^"]+)"', page)
            assert script.endswith(".js")
            assert all(get(address.rstrip("/") + file) for file in (script, *others))
            assert "debrief-document" in get(address + "debriefs/demo-debrief")
        finally:
            process.send_signal(signal.SIGINT)
        assert process.wait(timeout=20) == 0


def test_contract_the_wheel_holds_the_code_the_pages_and_nothing_made_on_this_machine(wheel: Path) -> None:
    with ZipFile(wheel) as archive:
        names = archive.namelist()
    assert {"coldfield/web/static/app/app.html", "coldfield/web/static/debrief.html"} <= set(names)
    assert not [name for name in names if name.endswith((".map", ".pyc", ".nbi", ".nbc", ".svelte", ".ts"))]
    folders = {name.split("/")[0].split("-")[0] for name in names}
    assert folders == {"coldfield"}
