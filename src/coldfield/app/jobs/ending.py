"""How a process ends in order: signals that end it raise what Ctrl-C raises, orphans end by themselves."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

ENDINGS = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))
"""Signals that end a process in order, besides Ctrl-C's: told to stop, or its terminal was closed."""


@contextmanager
def ends_in_order() -> Iterator[None]:
    """Let every signal that ends this process raise `KeyboardInterrupt`, so that all it holds is closed."""

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = {}
    if threading.current_thread() is threading.main_thread():
        for number in ENDINGS:
            # Who started this with a signal ignored (nohup) wants it ignored.
            if signal.getsignal(number) is signal.SIG_DFL:
                before[number] = signal.signal(number, interrupt)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def end_with_parent() -> None:
    """End this worker process once the one that started it is gone, however that ended.

    Ctrl-C reaches every process of a terminal; a worker leaves its end to the one that started it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True, name="coldfield-parent").start()
