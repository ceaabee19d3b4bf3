"""One worker process: it gets one task at a time, reports progress, and can be ended from outside."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import partial
from importlib import import_module
from multiprocessing.connection import Connection
from typing import Any

from coldfield.app.jobs.ending import end_with_parent
from coldfield.errors import BadInput, ColdfieldError
from coldfield.message import Message, message

Work = Callable[..., Any]
Watch = Callable[..., None]


class Stopped(Exception):
    """A job was ended from outside; `message` says why."""

    def __init__(self, message: Message) -> None:
        self.message = message
        super().__init__(message)


class Worker:
    """One spawned process that does one task at a time."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._link, theirs = context.Pipe()
        self._process = context.Process(target=worker_main, args=(theirs,), daemon=True)
        self._process.start()
        theirs.close()

    def alive(self) -> bool:
        """Return whether the process still runs."""
        return self._process.is_alive()

    def do(self, target: str, arguments: Mapping[str, Any], watch: Watch) -> Any:
        """Do one task and return its result.

        Parameters
        ----------
        target : str
            'module:function'.
        arguments : mapping
            Its arguments.
        watch : callable
            Called with each progress report (done, total, stage, step of that stage), and with (None, 0) a
            few times a second; may raise `Stopped`.

        Raises
        ------
        Stopped
            If `watch` raises it, or the process ended by itself.
        BadInput
            With the faults that the task raised on purpose.
        RuntimeError
            With the name of any other error.
        """
        try:
            self._link.send((target, dict(arguments)))
            while True:
                while not self._link.poll(0.1):
                    watch(None, 0)
                kind, value = self._link.recv()
                if kind == "progress":
                    watch(*value)
                elif kind == "done":
                    return value
                elif kind == "refused":
                    raise BadInput(value)
                else:
                    raise RuntimeError(value)
        except (EOFError, OSError):
            raise Stopped(message("fault.worker_ended")) from None

    def end(self) -> None:
        """End the process at once."""
        self._process.kill()
        self._process.join(timeout=10)
        self._link.close()


def placed(error: ColdfieldError) -> tuple[Message, ...]:
    """Return each fault of an error, with its place."""
    return error.placed() if isinstance(error, BadInput) else (error.message,)


def worker_main(link: Connection) -> None:
    """Run a worker process: do the tasks from a pipe until it closes."""
    end_with_parent()
    # Lower priority than the serving process, so that pages stay quick.
    with suppress(OSError):
        os.nice(5)
    while True:
        try:
            target, arguments = link.recv()
        except (EOFError, OSError):
            return
        try:
            module, _, name = target.partition(":")
            work: Work = getattr(import_module(module), name)
            answer: tuple[str, Any] = ("done", work(**arguments, progress=partial(_tell, link)))
        except ColdfieldError as error:
            answer = ("refused", placed(error))
        except BrokenPipeError:
            return
        except Exception as error:
            answer = ("fault", type(error).__name__)
        link.send(answer)


def _tell(
    link: Connection, done: int, total: int, stage: str = "", at: tuple[int, int] | None = None
) -> None:
    link.send(("progress", (done, total, stage, at)))
