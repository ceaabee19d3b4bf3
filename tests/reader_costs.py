"""Measure the cost of reading each heavy file in a separate process: peak memory and processor time.

``python tests/reader_costs.py [--reader gpx]`` prints both and the result. The memory includes the program
and the file itself, as in a route.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import resource
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from time import process_time
from typing import Any

from coldfield.errors import ColdfieldError
from heavy_files import FILES, MB
from reader_fuzz import subjects

MOST_PEAK_BYTES = 500_000_000
"""The limit for every reader and file, including the program itself and the file."""

LONGEST_S = 60
"""Processor time after which a reader counts as hanging and is killed, s."""

READERS = {name: read for name, (_, _, read) in subjects().items()}


@dataclass(frozen=True, slots=True)
class Cost:
    """The cost of reading a file."""

    reader: str
    file: str
    size: int
    peak_bytes: int
    cpu_s: float
    outcome: str


def costs(reader: str, files: Iterable[str] = ()) -> Iterator[Cost]:
    """Yield the cost of each heavy file of a reader, or of the named ones, read in a separate process."""
    processes = multiprocessing.get_context("forkserver")
    # Fork from a small process with everything loaded, independent of the size of this one.
    processes.set_forkserver_preload(["reader_costs"])
    # It finds this folder only through the environment, and would otherwise silently load nothing.
    os.environ["PYTHONPATH"] = os.pathsep.join(dict.fromkeys([str(Path(__file__).parent), *_python_path()]))
    with tempfile.TemporaryDirectory(prefix="coldfield-heavy-") as place:
        for name in files or FILES[reader]:
            path = Path(place) / "file"
            # Also made in a separate process, so that making it does not count.
            maker = processes.Process(target=_make, args=(reader, name, path))
            maker.start()
            maker.join()
            assert maker.exitcode == 0, f"{reader}: {name} cannot be made"
            theirs, ours = processes.Pipe()
            child = processes.Process(target=_read, args=(reader, path, ours))
            child.start()
            ours.close()
            told = (0, 0.0, "was ended from outside")
            with suppress(EOFError):
                told = theirs.recv()
            child.join()
            yield Cost(reader, name, path.stat().st_size, *told)


def _python_path() -> list[str]:
    return [place for place in os.environ.get("PYTHONPATH", "").split(os.pathsep) if place]


def _make(reader: str, name: str, path: Path) -> None:
    path.write_bytes(FILES[reader][name]())


def _read(reader: str, path: Path, to: Any) -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_S, LONGEST_S))
    data = path.read_bytes()
    began = process_time()
    try:
        READERS[reader](data)
        outcome = "read"
    except ColdfieldError as error:
        outcome = f"refused: {str(error).splitlines()[0][:100]}"
    except Exception as error:
        outcome = f"broke: {type(error).__name__}: {str(error)[:100]}"
    # Linux counts in kilobytes.
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    to.send((peak, process_time() - began, outcome))


def main() -> int:
    """Print the cost of each file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reader", choices=list(FILES))
    asked = parser.parse_args()
    most = 0
    for reader in [asked.reader] if asked.reader else FILES:
        for one in costs(reader):
            most = max(most, one.peak_bytes)
            told = f"{one.size / MB:7.1f} MB {one.peak_bytes / MB:5.0f} MB {one.cpu_s:5.1f} s"
            print(f"{reader:17} {one.file[:36]:36} {told}  {one.outcome}", flush=True)
    return int(most > MOST_PEAK_BYTES)


if __name__ == "__main__":
    sys.exit(main())
