"""End processes in order: signals act like Ctrl-C, and orphaned workers stop on their own."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

ENDINGS = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))
"""Signals that end a process in order, besides Ctrl-C: a request to stop, or a closed terminal."""


@contextmanager
def ends_in_order() -> Iterator[None]:
    """Let every signal that ends this process raise `KeyboardInterrupt`, so that all resources are closed."""

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = {}
    if threading.current_thread() is threading.main_thread():
        for number in ENDINGS:
            # A signal that was ignored at the start (nohup) stays ignored.
            if signal.getsignal(number) is signal.SIG_DFL:
                before[number] = signal.signal(number, interrupt)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def end_with_parent() -> None:
    """End this worker process once its parent process is gone, however that ended.

    Ctrl-C reaches every process of a terminal; a worker ignores it and is ended by its parent.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True, name="coldfield-parent").start()
