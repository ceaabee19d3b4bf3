"""Make slow things once for all test processes of a run; a test that writes to them copies them first."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Callable
from pathlib import Path
from tempfile import mkdtemp

import pytest


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """Return the folder that `make` fills, made by the first test process that requests it.

    Parameters
    ----------
    factory : pytest.TempPathFactory
        Provides the folder of the run.
    name : str
        The name of the folder.
    make : callable
        Called with a new, empty folder.
    """
    base = factory.getbasetemp()
    # Each of several test processes has its own folder inside that of the run.
    run = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    made = run / f"once-{name}"
    with (run / f"once-{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not made.exists():
            making = Path(mkdtemp(dir=run))
            make(making)
            making.rename(made)
    return made
