"""Memory and time of import and export on 3,000 runs with 604 tracks of 270 MB together.

The commands run in separate processes, whose peak memory the system reports at the end; the goal applies to
all of it. The routes run in a service that is ready, whose own memory (mostly compiled code) is printed
beside what each route adds; the goal applies to the added memory. Time is given as a ratio to one pass of
SHA-256 over the archive. Linux only.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

import httpx2 as httpx
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from season import write_seasons

MEMORY_GOAL_MB = 300
TRACKS, TRACK_BYTES = 604, 447_000
COLDFIELD = [sys.executable, "-m", "coldfield"]


def ended(process: subprocess.Popen[bytes]) -> float:
    """Wait for a process to succeed; return its peak memory, MB of 10^6 bytes."""
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    return usage.ru_maxrss * 1024 / 1e6


def called(*arguments: str) -> tuple[float, float]:
    """Run a command; return its peak memory in MB and its time in seconds."""
    start = time.perf_counter()
    peak = ended(subprocess.Popen([*COLDFIELD, *arguments], stdout=subprocess.DEVNULL))
    return peak, time.perf_counter() - start


def show(what: str, peak_mb: float, seconds: float, archive: Path) -> None:
    start = time.perf_counter()
    with archive.open("rb") as file:
        total = sha256()
        while piece := file.read(1 << 20):
            total.update(piece)
    ratio = seconds / (time.perf_counter() - start)
    verdict = f"{peak_mb:.0f} MB of {MEMORY_GOAL_MB}"
    print(f"\n{what}: {verdict}, {seconds:.1f} s, {ratio:.0f} x reading the archive")
    assert peak_mb < MEMORY_GOAL_MB


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("season")
    database = open_sqlite(Folder(folder))
    write_seasons(database, tracks=TRACKS, track_bytes=TRACK_BYTES)
    database.close()
    return folder


@pytest.fixture(scope="module")
def archive(season: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("out") / "all.zip"
    peak, seconds = called("export", str(out), "--data", str(season))
    show("export, command", peak, seconds, out)
    return out


def test_export_and_import_by_command(archive: Path, tmp_path: Path) -> None:
    peak, seconds = called("import", str(archive), "--data", str(tmp_path / "new"))
    show("import, command", peak, seconds, archive)


class Service:
    """A service in a separate process."""

    def __init__(self, folder: Path) -> None:
        command = [*COLDFIELD, "serve", "--data", str(folder), "--port", "0"]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE)
        assert self.process.stdout is not None
        self.site = self.process.stdout.readline().decode().strip().rstrip("/")

    def memory_mb(self, which: str) -> float:
        """Return its current memory (VmRSS), or its peak since the last call (VmHWM)."""
        place = Path(f"/proc/{self.process.pid}")
        lines = (place / "status").read_text().splitlines()
        found = next(line.split()[1] for line in lines if line.startswith(which))
        (place / "clear_refs").write_text("5")
        return int(found) * 1024 / 1e6

    def ready(self) -> None:
        """Wait until it is ready, at most a minute."""
        for _ in range(60):
            if httpx.get(f"{self.site}/api/ready").json()["hearing_map"]:
                return
            time.sleep(1)


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    served = Service(tmp_path / "served")
    yield served
    served.process.terminate()
    ended(served.process)


def in_pieces(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(1 << 18):
            yield piece


@contextmanager
def watched(what: str, service: Service, archive: Path) -> Iterator[None]:
    """Print the time of the block and the memory that it adds to the service's own."""
    own, start = service.memory_mb("VmRSS"), time.perf_counter()
    yield
    seconds, peak = time.perf_counter() - start, service.memory_mb("VmHWM")
    show(f"{what}, service of {own:.0f} MB, added", peak - own, seconds, archive)


def test_import_dry_and_in_earnest_then_export_by_the_service(archive: Path, service: Service) -> None:
    service.ready()
    for dry in ("true", "false"):
        parameters = {"file_name": "all.zip", "dry_run": dry}
        with watched(f"import with dry_run={dry}", service, archive):
            address = f"{service.site}/api/import"
            told = httpx.post(address, params=parameters, content=in_pieces(archive), timeout=600).json()
            # Work that takes longer than a few seconds continues as a job.
            while told.get("state") in ("waiting", "running"):
                time.sleep(0.2)
                told = httpx.get(f"{service.site}/api/jobs/{told['id']}").json()
        assert told.get("state", "done") == "done"
    with (
        watched("export", service, archive),
        httpx.stream("GET", f"{service.site}/api/export", timeout=600) as export,
    ):
        assert export.status_code == 200
        assert sum(map(len, export.iter_bytes())) > archive.stat().st_size / 2
