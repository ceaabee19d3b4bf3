"""What is slow to make, made once for all test processes of a run; who writes into it copies it first."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Callable
from pathlib import Path
from tempfile import mkdtemp

import pytest


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """Return the folder that `make` fills, made by the first test process that asks for it.

    Parameters
    ----------
    factory : pytest.TempPathFactory
        Knows the folder of the run.
    name : str
        What is made.
    make : callable
        Called with a new, empty folder.
    """
    base = factory.getbasetemp()
    # A test process among several has a folder of its own inside that of the run.
    run = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    made = run / f"once-{name}"
    with (run / f"once-{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not made.exists():
            making = Path(mkdtemp(dir=run))
            make(making)
            making.rename(made)
    return made
