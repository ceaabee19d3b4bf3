"""Run Coldfield's commands in separate processes that start quickly, as forks of a warm one.

A command started by its name spends most of its time importing. Here a process imports everything once. Each
line of its input is an order, ``{"words": [...], "most_bytes": null}``, which a fork executes; the answer is
one line, ``{"code": 2, "said": "...", "faults": "..."}``. `tests/cli/test_main.py` tests starting a command
by its name.
"""

from __future__ import annotations

import atexit
import gc
import json
import os
import resource
import selectors
import signal
import subprocess
import sys
import traceback
from dataclasses import dataclass
from functools import cache
from importlib import import_module

LONGEST_S = 60


@dataclass(frozen=True)
class Ended:
    """The exit code and output of a command."""

    code: int
    said: str
    faults: str


@cache
def _warm() -> subprocess.Popen[str]:
    """Start the forking process once for all tests of this process; both end together."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    process = subprocess.Popen(
        [sys.executable, __file__],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=environment,
    )
    atexit.register(process.communicate)
    return process


def command(*words: object, most_bytes: int | None = None) -> Ended:
    """Run a command; `most_bytes` limits the size of files, like a full disk."""
    process = _warm()
    assert process.stdin
    assert process.stdout
    order = {"words": [str(word) for word in words], "most_bytes": most_bytes}
    process.stdin.write(json.dumps(order) + "\n")
    process.stdin.flush()
    return Ended(**json.loads(process.stdout.readline()))


def run(words: list[str], most_bytes: int | None) -> None:
    """Run a command in this process, and exit as the command does."""
    from coldfield.cli.main import main

    signal.alarm(LONGEST_S)
    if most_bytes is not None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))
    sys.argv = ["coldfield", *words]
    code = 1
    try:
        main()
        code = 0
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def fork(words: list[str], most_bytes: int | None) -> Ended:
    """Run a command in a fork of this process."""
    said, faults = os.pipe(), os.pipe()
    child = os.fork()
    if child == 0:
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(said[1], 1)
        os.dup2(faults[1], 2)
        os.closerange(3, 256)
        run(words, most_bytes)
    os.close(said[1])
    os.close(faults[1])
    came = read_all(said[0], faults[0])
    status = os.waitpid(child, 0)[1]
    return Ended(os.waitstatus_to_exitcode(status), *(came[end].decode() for end in (said[0], faults[0])))


def read_all(*ends: int) -> dict[int, bytes]:
    """Read pipes until all are closed, in any order."""
    came = dict.fromkeys(ends, b"")
    with selectors.DefaultSelector() as waiting:
        for end in ends:
            waiting.register(end, selectors.EVENT_READ)
        while waiting.get_map():
            for key, _ in waiting.select():
                piece = os.read(key.fd, 65536)
                came[key.fd] += piece
                if not piece:
                    waiting.unregister(key.fd)
                    os.close(key.fd)
    return came


def main() -> None:
    """Import what commands need, then execute orders."""
    from coldfield.cli.main import COMMANDS

    for module, _ in COMMANDS.values():
        import_module(module)
    for name in ("coldfield.web.app", "coldfield.web.serving", "coldfield.app.records.keeping"):
        import_module(name)
    gc.freeze()
    for line in sys.stdin:
        print(json.dumps(fork(**json.loads(line)).__dict__), flush=True)


if __name__ == "__main__":
    main()
