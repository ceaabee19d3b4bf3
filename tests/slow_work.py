"""Work for tests of jobs: slow, failing, dying."""

from __future__ import annotations

import os
import time
from collections.abc import Callable

from coldfield.errors import BadInput
from coldfield.message import verbatim

Progress = Callable[[int, int], None]


def count(*, steps: int, pause_s: float, progress: Progress) -> int:
    """Do a number of steps with a pause before each."""
    for step in range(steps):
        progress(step, steps)
        time.sleep(pause_s)
    progress(steps, steps)
    return steps


def refuse(*, progress: Progress) -> None:
    """Raise two faults."""
    raise BadInput([verbatim("is wrong").at(key) for key in ("a", "b")], "order")


def break_down(*, progress: Progress) -> None:
    """Fail with a message that must not be shown."""
    raise ValueError("about Adaeze")


def die(*, progress: Progress) -> None:
    """End the process at once."""
    os._exit(9)


def own_id(*, progress: Progress) -> int:
    """Return the worker's process id."""
    return os.getpid()


def stay(*, progress: Progress) -> None:
    """Continue until ended from outside."""
    time.sleep(300.0)


def nothing(*, progress: Progress) -> None:
    """End at once, without a result."""
