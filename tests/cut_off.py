"""Interrupt work on records at one of its system calls: a separate process dies before the call.

Started as ``python cut_off.py``. It imports everything once. Each input line, ``WORK FOLDER LAYER CALL
NUMBER``, is done in a forked process that is killed (SIGKILL) just before its NUMBER-th CALL; 0 only counts.
It answers with one line: ``killed`` or ``done``, and the number of each call, as far as that layer knows.

There are two layers. ``python`` replaces Python's own functions and the system calls of the SQLite library,
which allows that; it needs nothing else. ``strace`` sees the calls themselves, including fsync.
"""

from __future__ import annotations

import collections
import contextlib
import ctypes
import ctypes.util
import gc
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from coldfield.app.records import keeping
from coldfield.app.records.data import Data, locked
from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder

NOW = datetime(2026, 2, 14, 9, 30, tzinfo=UTC)
CALLS = (
    "unlink,unlinkat,rename,renameat,renameat2,fsync,fdatasync,write,pwrite64,ftruncate,mkdir,mkdirat,openat"
)


@contextlib.contextmanager
def opened(folder: Folder) -> Iterator[Database]:
    with locked(folder, who="a test"):
        database = open_sqlite(folder, now=lambda: NOW, alone=True)
        try:
            yield database
        finally:
            database.close()


def restore(folder: Folder) -> None:
    keeping.restore(Data(folder), folder.path.parent / "given.db", now=NOW)


def backup(folder: Folder) -> None:
    keeping.backup(Data(folder), now=NOW)


def bring_in(folder: Folder) -> None:
    with opened(folder) as database, (folder.path.parent / "given.zip").open("rb") as file:
        keeping.bring_records(database, file, "given.zip")


def forget(folder: Folder) -> None:
    with opened(folder) as database:
        keeping.forget(database, "ines", folder=folder)


def migrate(folder: Folder) -> None:
    with opened(folder):
        pass


WORKS: dict[str, Callable[[Folder], None]] = {
    "restore": restore,
    "backup": backup,
    "import": bring_in,
    "forget": forget,
    "migration": migrate,
}


# --- the layer inside the process -------------------------------------------------------------------

PYTHON_CALLS = ("replace", "rename", "unlink", "remove", "fsync", "mkdir", "write", "ftruncate")
SQLITE_CALLS = {
    "open": ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_int),
    "ftruncate": ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_int, ctypes.c_int64),
    "write": ctypes.CFUNCTYPE(ctypes.c_ssize_t, ctypes.c_int, ctypes.c_void_p, ctypes.c_size_t),
    "pwrite": ctypes.CFUNCTYPE(
        ctypes.c_ssize_t, ctypes.c_int, ctypes.c_void_p, ctypes.c_size_t, ctypes.c_int64
    ),
    "pwrite64": ctypes.CFUNCTYPE(
        ctypes.c_ssize_t, ctypes.c_int, ctypes.c_void_p, ctypes.c_size_t, ctypes.c_int64
    ),
    "unlink": ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p),
}
"""The changing system calls that SQLite's file layer takes from a table (sqlite3_vfs)."""


class SqliteFiles(ctypes.Structure):
    """The start of `sqlite3_vfs`, from https://www.sqlite.org/c3ref/vfs.html."""

    _fields_ = (
        *((name, ctypes.c_int) for name in ("iVersion", "szOsFile", "mxPathname")),
        *((name, ctypes.c_void_p) for name in ("pNext", "zName", "pAppData")),
        *((f"x{number}", ctypes.c_void_p) for number in range(12)),
        ("xCurrentTimeInt64", ctypes.c_void_p),
        ("xSetSystemCall", ctypes.c_void_p),
        ("xGetSystemCall", ctypes.c_void_p),
        ("xNextSystemCall", ctypes.c_void_p),
    )


class Counted:
    """Counts calls and dies before one of them."""

    def __init__(self, number: int) -> None:
        self.number = number
        self.made: collections.Counter[str] = collections.Counter()
        self.kept: list[Any] = []

    def __call__(self, name: str) -> None:
        self.made[name] += 1
        if self.made.total() == self.number:
            os.kill(os.getpid(), signal.SIGKILL)

    def install(self) -> None:
        """Replace every known call for the rest of this process."""
        for name in PYTHON_CALLS:
            setattr(os, name, self._before(f"os.{name}", getattr(os, name)))
        sys.addaudithook(self._audit)
        self._install_in_sqlite()

    def _audit(self, event: str, arguments: tuple[Any, ...]) -> None:
        # Files that Python itself opens for writing; later writes reach them only when they are closed.
        if event == "open" and isinstance(arguments[1], str) and set(arguments[1]) & set("wax+"):
            self("open")

    def _before(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*arguments: Any, **named: Any) -> Any:
            self(name)
            return real(*arguments, **named)

        return counted

    def _install_in_sqlite(self) -> None:
        library = sqlite_library()
        if library is None:
            return
        library.sqlite3_vfs_find.restype = ctypes.POINTER(SqliteFiles)
        files = library.sqlite3_vfs_find(None)
        get = ctypes.CFUNCTYPE(ctypes.c_void_p, ctypes.c_void_p, ctypes.c_char_p)(
            files.contents.xGetSystemCall
        )
        put = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_char_p, ctypes.c_void_p)(
            files.contents.xSetSystemCall
        )
        for name, kind in SQLITE_CALLS.items():
            real = get(files, name.encode())
            if real:
                mine = kind(self._before(f"sqlite.{name}", kind(real)))
                self.kept.append(mine)
                put(files, name.encode(), ctypes.cast(mine, ctypes.c_void_p))


def sqlite_library() -> Any:
    """Return the SQLite library that Python itself uses, None if it is built into Python."""
    import _sqlite3

    try:
        maps = Path("/proc/self/maps").read_text()
    except OSError:
        return None
    found = re.search(r"\S*/libsqlite3\.so\S*", maps)
    return ctypes.CDLL(found[0]) if found and _sqlite3 else None


# --- processes --------------------------------------------------------------------------------------


def fork(work: str, folder: Folder, layer: str, call: str, number: int) -> tuple[str, dict[str, int]]:
    """Do work in a forked process that is killed at a call; return how it ended and the calls made."""
    read_end, write_end = os.pipe()
    go_read, go_write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(go_write)
            signal.alarm(60)
            counted = Counted(number)
            os.read(go_read, 1)
            if layer == "python":
                counted.install()
            WORKS[work](folder)
            counted.number = 0
            os.write(write_end, json.dumps(counted.made).encode())
            os._exit(0)
        except BaseException as error:
            os.write(2, f"{type(error).__name__}: {error}\n".encode())
        finally:
            os._exit(1)
    os.close(write_end)
    os.close(go_read)
    with contextlib.ExitStack() as stack:
        log = Path(stack.enter_context(tempfile.TemporaryDirectory())) / "calls"
        tracer = stack.enter_context(traced(child, log, call, number)) if layer == "strace" else None
        os.write(go_write, b"x")
        os.close(go_write)
        with os.fdopen(read_end, "rb") as told:
            made = json.loads(told.read() or b"{}")
        status = os.waitpid(child, 0)[1]
        if tracer is not None:
            tracer.wait(timeout=20)
            made = dict(collections.Counter(re.findall(r"^(\w+)\(", log.read_text(), re.MULTILINE)))
    if os.WIFSIGNALED(status):
        return "killed", made
    return ("done" if os.WEXITSTATUS(status) == 0 else "failed"), made


@contextlib.contextmanager
def traced(child: int, log: Path, call: str, number: int) -> Iterator[subprocess.Popen[str]]:
    """Let strace kill a process at a call; yields once strace is attached."""
    inject = ["-e", f"inject={call}:signal=KILL:when={number}"] if number else []
    command = ["strace", "-p", str(child), "-o", str(log), "-e", f"trace={CALLS}", *inject]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as tracer:
        assert tracer.stderr
        said = tracer.stderr.readline()
        assert "attached" in said, said
        yield tracer


def main() -> None:
    warm = Path(tempfile.mkdtemp(prefix="coldfield-warm-"))
    with opened(Folder(warm / "data")):
        pass
    shutil.rmtree(warm)
    gc.freeze()
    for line in sys.stdin:
        work, folder, layer, call, number = line.split()
        ended, made = fork(work, Folder(Path(folder)), layer, call, int(number))
        print(ended, json.dumps(made), flush=True)


if __name__ == "__main__":
    main()
