"""The installation is complete: the wheel alone, without Node, shows the demo in a browser."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from zipfile import ZipFile

import pytest

ROOT = Path(__file__).parents[1]
MOST_BYTES = 3_000_000
DRILL = ROOT / "src" / "coldfield" / "app" / "demo" / "drill.json"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel."""
    place = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "--no-index"]
    subprocess.run([*build, "-w", str(place), str(ROOT)], check=True, capture_output=True, timeout=180)
    (wheel,) = place.glob("*.whl")
    return wheel


def get(address: str) -> tuple[str, dict[str, str]]:
    with urllib.request.urlopen(address, timeout=20) as answer:
        text: str = answer.read().decode("utf-8", errors="replace")
        return text, {key.lower(): value for key, value in answer.headers.items()}


def installed(wheel: Path, place: Path) -> Path:
    """Unpack the wheel."""
    with ZipFile(wheel) as archive:
        archive.extractall(place)
    return place


@contextmanager
def demo(wheel: Path, place: Path, port: int) -> Iterator[str]:
    """Show the demo from the wheel, without any other program; yields the address."""
    empty = place / "bin"
    empty.mkdir()
    env = {**os.environ, "PATH": str(empty), "PYTHONPATH": str(installed(wheel, place / "installed"))}
    command = [sys.executable, "-m", "coldfield", "demo", "--folder", str(place / "demo")]
    with subprocess.Popen(
        [*command, "--port", str(port)], stdout=subprocess.PIPE, text=True, env=env, cwd=place
    ) as process:
        try:
            assert process.stdout
            yield [process.stdout.readline().strip() for _ in range(2)][1]
        finally:
            process.send_signal(signal.SIGINT)
        assert process.wait(timeout=20) == 0


def test_contract_the_wheel_alone_shows_the_demo_and_leads_to_the_debrief(
    wheel: Path, tmp_path: Path
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with demo(wheel, tmp_path, port) as address:
            assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", address)
            assert f":{port}/" not in address, "a taken port falls to a free one"
            holds_its_files(address)
            is_made(address)
            leads_to_the_debrief(address)


def holds_its_files(address: str) -> None:
    page, _ = get(address)
    script, *others = re.findall(r'(?:src|href)="(/app/assets/[^"]+)"', page)
    assert script.endswith(".js")
    assert all(get(address.rstrip("/") + file)[0] for file in (script, *others))
    assert page == get(address + "runs/demo-run")[0], "one page at every address of the app"


def is_made(address: str) -> None:
    """Wait for the demo if it did not come with the wheel, or another model made it."""
    until = time.monotonic() + 120.0
    while any(job["state"] in ("waiting", "running") for job in json.loads(get(address + "api/jobs")[0])):
        assert time.monotonic() < until
        time.sleep(0.5)


def leads_to_the_debrief(address: str) -> None:
    page, _ = get(address + "service")
    (link,) = re.findall(r'href="(/debriefs/[^"]+)"', page)
    assert link == "/debriefs/demo-debrief?language=en"
    debrief, headers = get(address.rstrip("/") + link)
    assert "debrief-document" in debrief
    assert "sha256-" in headers["content-security-policy"]
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    people, _ = get(address + "api/people/ines/history")
    assert "Run 1, made in the computer" in people


def test_contract_the_wheel_holds_the_code_the_pages_and_nothing_made_on_this_machine(wheel: Path) -> None:
    with ZipFile(wheel) as archive:
        names = archive.namelist()
    pages = ("app/app.html", "debrief.html", "clock.html", "clock-worker.js", "codes.html", "codes.wasm")
    assert {f"coldfield/web/static/{page}" for page in pages} <= set(names)
    loops = {name.split("/")[-1].split("-")[0] for name in names if name.startswith("coldfield/loops/")}
    assert loops == {"many_runs", "fill_table", "count_heard", "multiply_misses"}
    assert not [name for name in names if name.endswith((".map", ".pyc", ".nbi", ".nbc", ".svelte", ".ts"))]
    assert wheel.stat().st_size < MOST_BYTES
    folders = {name.split("/")[0].split("-")[0] for name in names}
    assert folders == {"coldfield"}


def test_contract_a_tool_runner_starts_the_wheel(wheel: Path, tmp_path: Path) -> None:
    tools = Path(sys.executable).parent
    home = {**os.environ, "PIPX_HOME": str(tmp_path / "pipx"), "PIPX_DEFAULT_BACKEND": "uv"}
    for runner in (
        [str(tools / "uv"), "tool", "run", "--python", sys.executable, "--from", str(wheel)],
        [str(tools / "pipx"), "run", "--python", sys.executable, "--spec", str(wheel)],
    ):
        done = subprocess.run(
            [*runner, "coldfield", "strip-width", str(DRILL)],
            capture_output=True,
            text=True,
            env=home,
            timeout=300,
        )
        assert done.returncode == 0, done.stderr
        assert "m" in done.stdout
