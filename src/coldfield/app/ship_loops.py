"""Write the compiled loops that ship with the program: `python -m coldfield.app.ship_loops`, once per build.

They are compiled for the processor family; each machine translates them for its own processor.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from importlib.resources import as_file, files
from pathlib import Path

from coldfield.app.jobs.ready import ready_work
from coldfield.shipped_loops import FOLDER, LOOPS, MACHINE, Loop, shipped_form

ANY_PROCESSOR = {"NUMBA_CPU_NAME": "generic", "NUMBA_CPU_FEATURES": ""}


def ship(folder: Path) -> None:
    """Compile every loop and write it into a folder, replacing older ones for this kind of machine."""
    Loop.by_numba = True
    ready_work(progress=lambda _done, _total: None)
    made = {loop.file_name: shipped_form(loop) for loop in LOOPS}
    folder.mkdir(exist_ok=True)
    for old in folder.glob(f"*-{MACHINE}.xz"):
        old.unlink()
    for name, content in made.items():
        (folder / name).write_bytes(content)


def main() -> None:
    """Write the loops into the package, in a process without a compiler cache."""
    if os.environ.get("NUMBA_CPU_NAME") == ANY_PROCESSOR["NUMBA_CPU_NAME"]:
        with as_file(files("coldfield")) as package:
            ship(package / FOLDER)
        return
    with tempfile.TemporaryDirectory() as empty:
        env = {**os.environ, **ANY_PROCESSOR, "NUMBA_CACHE_DIR": empty}
        subprocess.run([sys.executable, "-m", "coldfield.app.ship_loops"], env=env, check=True)


if __name__ == "__main__":
    main()
