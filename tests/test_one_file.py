"""The single file runs on its own: without Python, shell or libraries, except the C library."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from PyInstaller.archive.readers import CArchiveReader

from coldfield import __version__
from coldfield.rescue.kernel.event_loop import many_runs
from coldfield.search.width.lateral_kernel import fill_table

ROOT = Path(__file__).parents[1]
DRILL = ROOT / "src" / "coldfield" / "app" / "demo" / "drill.json"
MOST_BYTES = 300_000_000
"""The limit for a quickly compressed file; the released one is smaller."""

C_LIBRARY = ("libm.so.6", "libdl.so.2", "libpthread.so.0", "librt.so.1", "libutil.so.1", "libresolv.so.2")
"""System libraries that the contained libraries need besides those of the file itself."""

pytestmark = pytest.mark.skipif(
    sys.platform != "linux" or (os.geteuid() != 0 and os.environ.get("CI") != "true"),
    reason="needs Linux, and root for an empty room",
)


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the single file into an empty root folder with only the C library."""
    place = tmp_path_factory.mktemp("one-file")
    told = [str(ROOT / "design" / "one_file" / "coldfield.spec")]
    told += ["--noconfirm", "--distpath", str(place / "room"), "--workpath", str(place / "work")]
    env = {
        **os.environ,
        "PYINSTALLER_ZLIB_COMPRESSION_LEVEL": "1",
        "PYINSTALLER_CONFIG_DIR": str(place / "own"),
    }
    subprocess.run(
        [sys.executable, "-m", "PyInstaller", *told], check=True, capture_output=True, env=env, timeout=900
    )
    room = place / "room"
    for folder in ("tmp", "home", "etc", "dev"):
        (room / folder).mkdir()
    room.joinpath("etc", "passwd").write_text("root:x:0:0::/home:/nowhere\n")
    needs = subprocess.run(
        ["ldd", str(room / "coldfield")], check=True, capture_output=True, text=True
    ).stdout
    own = [word for line in needs.splitlines() for word in line.split() if word.startswith("/")]
    folder = next(Path(one).parent for one in own if "libc.so" in one)
    for library in {*own, *(str(folder / part) for part in C_LIBRARY)}:
        (room / library.lstrip("/")).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(library, room / library.lstrip("/"))
    return room


def command(room: Path, *told: str) -> list[str]:
    return [shutil.which("chroot") or "/usr/sbin/chroot", str(room), "/coldfield", *told]


EMPTY = {"HOME": "/home", "PATH": "/nowhere", "LANG": "C.UTF-8"}


def test_contract_one_file_answers_in_an_empty_room(room: Path) -> None:
    assert (room / "coldfield").stat().st_size < MOST_BYTES
    done = subprocess.run(command(room, "--version"), capture_output=True, text=True, env=EMPTY, timeout=120)
    assert done.stdout.strip() == f"coldfield, version {__version__}", done.stderr
    assert not list((room / "tmp").iterdir()), "what it unpacks is gone when it ends"


def test_contract_the_loops_are_in_it(room: Path) -> None:
    within = CArchiveReader(str(room / "coldfield")).toc
    kept = {Path(name).name for name in within if name.startswith("coldfield/loops/")}
    assert {loop.file_name for loop in (many_runs, fill_table)} <= kept


def test_contract_one_file_shows_the_demo_and_rehearses_it(room: Path) -> None:
    with subprocess.Popen(command(room), stdout=subprocess.PIPE, text=True, env=EMPTY) as process:
        try:
            assert process.stdout
            address = next(line.strip() for line in process.stdout if line.startswith("http"))
            body = json.dumps({"drill": json.loads(DRILL.read_text(encoding="utf-8"))}).encode()
            assert json.loads(answered(address + "api/minutes", body))["runs"] >= 60
            assert b"app/assets" in answered(address)
        finally:
            process.send_signal(signal.SIGINT)
        assert process.wait(timeout=60) == 0


def answered(address: str, body: bytes | None = None) -> bytes:
    """Request until the loops are loaded."""
    request = urllib.request.Request(address, body, {"content-type": "application/json"})
    until = time.monotonic() + 120.0
    while True:
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return bytes(answer.read())
        except urllib.error.HTTPError as error:
            assert error.code == 503, error.read()
            assert time.monotonic() < until
            time.sleep(0.5)
