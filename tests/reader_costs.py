"""What it costs to read each heavy file: the peak of memory and the processor time, in a process of its own.

``python tests/reader_costs.py [--reader gpx]`` prints both and what came of the file. The program and the
file itself count, as a route holds them too.
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
"""What no reader may take, whatever the file, with the program itself and the file in it."""

LONGEST_S = 60
"""Processor time after which a reading is ended from outside, s: it hangs then."""

READERS = {name: read for name, (_, _, read) in subjects().items()}


@dataclass(frozen=True, slots=True)
class Cost:
    """What it took to read a file."""

    reader: str
    file: str
    size: int
    peak_bytes: int
    cpu_s: float
    outcome: str


def costs(reader: str, files: Iterable[str] = ()) -> Iterator[Cost]:
    """Yield what each heavy file of a reader costs, or each of those named, read in a process of its own."""
    processes = multiprocessing.get_context("forkserver")
    # A small process that has all of this loaded, whatever the one that asks has grown to.
    processes.set_forkserver_preload(["reader_costs"])
    # It finds this folder by the environment alone, and would load nothing without a word.
    os.environ["PYTHONPATH"] = os.pathsep.join(dict.fromkeys([str(Path(__file__).parent), *_python_path()]))
    with tempfile.TemporaryDirectory(prefix="coldfield-heavy-") as place:
        for name in files or FILES[reader]:
            path = Path(place) / "file"
            # Made in a process of its own too, so that its making is not counted.
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
    """Print what each file costs."""
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
