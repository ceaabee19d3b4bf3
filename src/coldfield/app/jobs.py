"""Long work in worker processes: started once, watched, cancelled, there after a page is loaded anew.

The serving process hands plain values to spawned workers and gets plain values back; only it writes records.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import queue
import threading
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from importlib import import_module
from multiprocessing.connection import Connection
from typing import Any

from coldfield.app.ending import end_with_parent
from coldfield.errors import BadInput, ColdfieldError, Conflict, Refused, UnknownRecord
from coldfield.records.forget.late import MEANWHILE

log = logging.getLogger("coldfield.web")

WORK = {
    "rehearse": "coldfield.app.work:rehearse_work",
    "debrief": "coldfield.app.work:debrief_work",
    "get ready": "coldfield.app.ready:ready_work",
    "demo": "coldfield.app.demo_work:demo_work",
}
"""Kind of job -> what does it, in a worker process."""

CLOSE_S = 10.0
"""How long closing waits for what a job's end keeps in the records, s. Setting."""

MOST_WAITING = 50
"""Jobs that may wait before further ones are refused. Setting."""

MOST_KEPT = 200
"""Ended jobs whose results are kept. Setting."""

LONGEST_S = 3600.0
"""A job that takes longer is ended, s. Setting."""

ENDED = ("done", "failed", "cancelled")

Work = Callable[..., Any]
Finish = Callable[["Job", Any], Any]
Watch = Callable[..., None]
Speaks = Callable[[str], bool]
"""Whether a text speaks of somebody."""


@dataclass(slots=True)
class Job:
    """One piece of long work.

    `state` is waiting, running, done, failed or cancelled; `done` of `total` steps of all its work;
    it is at step `stage_done` of `stage_total` of its `stage`. `revision` grows with each change;
    `faults` has one line per fault of a failed job; `forgotten` tells of texts whether they speak of
    somebody who was forgotten while it was under way.
    """

    id: str
    work: str
    order: Mapping[str, Any]
    arguments: Mapping[str, Any]
    state: str = "waiting"
    done: int = 0
    total: int = 0
    stage: str = ""
    stage_done: int = 0
    stage_total: int = 0
    result: Any = None
    faults: list[str] = field(default_factory=list)
    revision: int = 0
    cancelled: bool = False
    forgotten: list[Speaks] = field(default_factory=list)

    def document(self, *, with_result: bool = True) -> dict[str, Any]:
        """Return the job as plain values."""
        told = {
            "id": self.id,
            "work": self.work,
            "state": self.state,
            "done": self.done,
            "total": self.total,
            "stage": self.stage,
            "stage_done": self.stage_done,
            "stage_total": self.stage_total,
            "faults": list(self.faults),
            "revision": self.revision,
        }
        return {**told, "result": self.result} if with_result else told


class Jobs:
    """A few worker processes and the jobs they do; processes start with the first job.

    Parameters
    ----------
    work : mapping
        Kind of work -> 'module:function' that does it in a worker: called with the arguments of the
        job and `progress`, a function of (done, total).
    finish : mapping, optional
        Kind of work -> what the serving process makes of the result, such as keeping it.
    workers : int
        How many at a time.
    clock : callable
        Seconds that only grow.
    """

    def __init__(
        self,
        work: Mapping[str, str],
        *,
        finish: Mapping[str, Finish] | None = None,
        workers: int = 2,
        longest_s: float = LONGEST_S,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._work = dict(work)
        self._finish = dict(finish or {})
        self._longest_s = longest_s
        self._clock = clock
        self._jobs: dict[str, Job] = {}
        self._changed = threading.Condition()
        self._queue: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        self._workers = workers
        self._threads: list[threading.Thread] = []
        self._readying: list[Job] = []
        self._alive: set[Worker] = set()
        self._closed = False

    def submit(
        self, job_id: str, work: str, *, order: Mapping[str, Any], arguments: Callable[[], Mapping[str, Any]]
    ) -> Job:
        """Start a job under an id its maker chose; the same order twice is one job.

        Parameters
        ----------
        job_id, work : str
            Its id and kind.
        order : mapping
            What was asked for; a second order under the same id must equal it.
        arguments : callable
            Gives the arguments of the work; called only where the job is new.

        Raises
        ------
        Conflict
            If another order stands under this id.
        Refused
            If too many jobs wait.
        """
        with self._changed:
            known = self._jobs.get(job_id)
            waiting = sum(job.state == "waiting" for job in self._jobs.values())
        if known is not None:
            if (known.work, known.order) != (work, order):
                raise Conflict("there is another job under this id", version=None, based_on=None)
            return known
        if waiting >= MOST_WAITING or self._closed:
            raise Refused(f"{waiting} jobs are waiting already; cancel some or wait")
        job = Job(id=job_id, work=work, order=order, arguments=arguments())
        with self._changed:
            job = self._jobs.setdefault(job_id, job)
            self._drop_old()
        self._hire()
        self._queue.put(job)
        return job

    def waits_for(self, job: Job) -> str | None:
        """Return what a waiting job waits for: 'other work', 'getting ready', or nothing (None).

        It waits for nothing where a worker is free, or about to be hired, for everything before it.
        """
        with self._changed:
            if job.state != "waiting":
                return None
            listed = list(self._jobs.values())
            before = [one for one in listed[: listed.index(job)] if one.state == "waiting"]
            before += [one for one in listed if one.state == "running"]
            readying = [one for one in self._readying if one.state in ("waiting", "running")]
        if len(before) + len(readying) < self._workers:
            return None
        return "other work" if before else "getting ready"

    def told(self, job: Job, *, with_result: bool = True) -> dict[str, Any]:
        """Return a job as plain values, with what it waits for."""
        return {**job.document(with_result=with_result), "waits_for": self.waits_for(job)}

    def get_ready(self) -> None:
        """Have a worker compile and load what is slow otherwise, beside the first jobs; not listed."""
        job = Job(id="", work="get ready", order={}, arguments={})
        self._readying.append(job)
        self._hire()
        self._queue.put(job)

    def _hire(self) -> None:
        with self._changed:
            if len(self._threads) < self._workers:
                thread = threading.Thread(target=self._attend, daemon=True, name="coldfield-jobs")
                self._threads.append(thread)
                thread.start()

    def get(self, job_id: str) -> Job:
        """Return a job.

        Raises
        ------
        UnknownRecord
            If there is none: never started, forgotten, or from before the service was started anew.
        """
        with self._changed:
            job = self._jobs.get(job_id)
        if job is None:
            raise UnknownRecord("there is no such job; jobs end with the service, start it again")
        return job

    def all(self) -> list[Job]:
        """Return every job, the newest first."""
        with self._changed:
            return list(self._jobs.values())[::-1]

    def cancel(self, job_id: str) -> Job:
        """End a job that waits or runs; one that has ended stays as it is."""
        job = self.get(job_id)
        with self._changed:
            if job.state not in ENDED:
                job.cancelled = True
            if job.state == "waiting":
                self._set(job, state="cancelled")
        return job

    def wait(self, job_id: str, *, after_revision: int = -1, timeout_s: float = 30.0) -> Job:
        """Wait until a job has changed since a revision, or the time is over; return it."""
        job = self.get(job_id)
        with self._changed:
            self._changed.wait_for(lambda: job.revision > after_revision, timeout=timeout_s)
        return job

    def forget(self, speaks: Speaks) -> int:
        """Drop what jobs hold of somebody who was forgotten; return how many jobs were dropped.

        Those that have ended go with their results, and those that were asked for with words that speak
        of the person. What the others give is looked at when they end.

        Parameters
        ----------
        speaks : callable
            Whether a text speaks of the person.
        """
        with self._changed:
            gone = [job for job in self._jobs.values() if job.state in ENDED or speaks(repr(job.order))]
            for job in gone:
                job.cancelled = True
                if job.state == "waiting":
                    self._set(job, state="cancelled")
                del self._jobs[job.id]
            for job in self._jobs.values():
                job.forgotten.append(speaks)
        return len(gone)

    def close(self) -> None:
        """Cancel everything, tell those who follow it, and end the workers; a second time does nothing."""
        self._closed = True
        for job in self._readying:
            job.cancelled = True
        for job in self.all():
            if job.state not in ENDED:
                self.cancel(job.id)
        with self._changed:
            threads, self._threads, self._workers = self._threads, [], 0
        for _ in threads:
            self._queue.put(None)
        for thread in threads:
            thread.join(timeout=CLOSE_S)
        for worker in list(self._alive):
            worker.end()

    def _set(self, job: Job, **values: Any) -> None:
        with self._changed:
            for name, value in values.items():
                setattr(job, name, value)
            job.revision += 1
            self._changed.notify_all()

    def _drop_old(self) -> None:
        ended = [job.id for job in self._jobs.values() if job.state in ENDED]
        for job_id in ended[: max(len(ended) - MOST_KEPT, 0)]:
            del self._jobs[job_id]

    def _attend(self) -> None:
        """Look after one worker process: hand it one job after the other."""
        worker: Worker | None = None
        while (job := self._queue.get()) is not None:
            with self._changed:
                if job.state != "waiting":
                    continue
                self._set(job, state="running")
            if worker is None or not worker.alive():
                worker = self._hired()
            try:
                result = worker.do(self._work[job.work], job.arguments, self._watch(job))
                finish = self._finish.get(job.work)
                result = finish(job, result) if finish else result
                if any(speaks(repr(result)) for speaks in job.forgotten):
                    raise Refused(MEANWHILE)
                self._set(job, state="done", result=result)
            except Stopped as stopped:
                worker.end()
                self._set(job, state="cancelled" if job.cancelled else "failed", faults=[str(stopped)])
            except ColdfieldError as error:
                self._set(job, state="failed", faults=str(error).splitlines())
            except Exception as error:
                name = str(error) if isinstance(error, RuntimeError) else type(error).__name__
                log.error("job %s: %s", job.work, name)
                self._set(job, state="failed", faults=[f"a fault inside Coldfield ({name})"])
            job.arguments = {}
        if worker is not None:
            worker.end()
            self._alive.discard(worker)

    def _hired(self) -> Worker:
        worker = Worker()
        self._alive = {one for one in self._alive if one.alive()} | {worker}
        return worker

    def _watch(self, job: Job) -> Watch:
        latest = self._clock() + self._longest_s

        def watch(done: int | None, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
            if job.cancelled:
                raise Stopped("cancelled")
            if self._clock() > latest:
                raise Stopped(f"took longer than {self._longest_s / 60:.0f} min and was ended")
            if done is not None:
                here, whole = at or (done, total)
                self._set(job, done=done, total=total, stage=stage, stage_done=here, stage_total=whole)

        return watch


class Stopped(Exception):
    """A job was ended from outside."""


class Worker:
    """One spawned process that does what it is sent, one thing at a time."""

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
        """Do one thing and return what it gives.

        Parameters
        ----------
        target : str
            'module:function'.
        arguments : mapping
            Its arguments.
        watch : callable
            Called with each progress (done, total, stage, step of that stage), and with (None, 0) a few
            times a second; may raise `Stopped`.

        Raises
        ------
        Stopped
            If `watch` says so, or the process ended by itself.
        BadInput
            With the lines of what the work raised on purpose.
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
            raise Stopped("the worker process ended; start the job again") from None

    def end(self) -> None:
        """End the process at once."""
        self._process.kill()
        self._process.join(timeout=10)
        self._link.close()


def worker_main(link: Connection) -> None:
    """Do what comes through a pipe until it closes: the whole life of a worker process."""
    end_with_parent()
    # Behind the serving process, so that pages stay quick.
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
            answer = ("refused", str(error).splitlines())
        except BrokenPipeError:
            return
        except Exception as error:
            answer = ("fault", type(error).__name__)
        link.send(answer)


def _tell(
    link: Connection, done: int, total: int, stage: str = "", at: tuple[int, int] | None = None
) -> None:
    link.send(("progress", (done, total, stage, at)))
