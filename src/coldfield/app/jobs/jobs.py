"""Long jobs in worker processes: started once, watched, cancelled, and kept when a page is reloaded.

The serving process sends plain values to spawned workers and gets plain values back. Only it writes records.
"""

from __future__ import annotations

import logging
import queue
import threading
import time
import uuid
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from coldfield.app.jobs.job import ENDED, Job, JobStanding, Speaks, WaitsFor
from coldfield.app.jobs.stages import Progress
from coldfield.app.jobs.worker import Stopped, Watch, Worker, placed
from coldfield.errors import ColdfieldError, Conflict, Refused, UnknownRecord
from coldfield.message import message, number
from coldfield.records.forget.late import MEANWHILE

log = logging.getLogger("coldfield.web")

CLOSE_S = 10.0
"""How long closing waits for a finished job to be written to the records, s. Setting."""

MOST_WAITING = 50
"""The most waiting jobs; further ones are refused. Setting."""

MOST_KEPT = 200
"""The most finished jobs whose results are kept. Setting."""

AT_HAND = 2
"""Threads in this process for jobs that need the records themselves. Setting."""

LONGEST_S = 3600.0
"""A job that takes longer than this is ended, s. Setting."""

Finish = Callable[[Job, Any], Any]


class Jobs:
    """A few worker processes and their jobs; processes start with the first job.

    Parameters
    ----------
    work : mapping
        Kind of job -> 'module:function' that does it in a worker, called with the arguments of the job and
        `progress`, a function of (done, total).
    finish : mapping, optional
        Kind of job -> a function that handles the result in the serving process, such as keeping it.
    workers : int
        The number of worker processes.
    clock : callable
        A monotonic clock, s.
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
        self._at_hand: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        self._hands: list[threading.Thread] = []
        self._readying: list[Job] = []
        self._alive: set[Worker] = set()
        self._closed = False

    def submit(
        self, job_id: str, work: str, *, order: Mapping[str, Any], arguments: Callable[[], Mapping[str, Any]]
    ) -> Job:
        """Start a job under an id chosen by the caller; repeating an order returns the same job.

        Parameters
        ----------
        job_id, work : str
            Its id and kind.
        order : mapping
            The order; a second one under the same id must be equal.
        arguments : callable
            Returns the arguments of the job; called only if the job is new.

        Raises
        ------
        Conflict
            If another order has this id.
        Refused
            If too many jobs wait.
        """
        with self._changed:
            known = self._jobs.get(job_id)
        if known is not None:
            if (known.work, known.order) != (work, order):
                raise Conflict(message("fault.another_job"), version=None, based_on=None)
            return known
        self._refuse_more()
        job = Job(id=job_id, work=work, order=order, arguments=arguments())
        with self._changed:
            job = self._jobs.setdefault(job_id, job)
            self._drop_old()
        self._hire()
        self._queue.put(job)
        return job

    def begin(
        self,
        work: str,
        call: Callable[[Progress], Any],
        *,
        order: Mapping[str, Any],
        let_go: Callable[[], object] = lambda: None,
    ) -> Job:
        """Begin a job that needs the records themselves, in a thread of this process.

        Parameters
        ----------
        work : str
            Its kind.
        call : callable
            Does the work. It is called with a progress function, which raises `Stopped` once the job is
            cancelled; the work must then undo what it has written.
        order : mapping
            The order.
        let_go : callable
            Closes the job's resources, however it ends.

        Raises
        ------
        Refused
            If too many jobs wait.
        """
        self._refuse_more()
        job = Job(
            id=uuid.uuid4().hex,
            work=work,
            order=order,
            arguments={},
            call=call,
            let_go=let_go,
            at_hand=True,
        )
        with self._changed:
            self._jobs[job.id] = job
            self._drop_old()
            if len(self._hands) < AT_HAND:
                thread = threading.Thread(target=self._attend_at_hand, daemon=True, name="coldfield-at-hand")
                self._hands.append(thread)
                thread.start()
        self._at_hand.put(job)
        return job

    def _refuse_more(self) -> None:
        with self._changed:
            waiting = sum(job.state == "waiting" for job in self._jobs.values())
        if waiting >= MOST_WAITING or self._closed:
            raise Refused(message("fault.jobs_waiting", n=waiting))

    def ends_within(self, job: Job, timeout_s: float) -> bool:
        """Wait until a job has ended, at most this long; if so, remove it from the list and return True."""
        with self._changed:
            if self._changed.wait_for(lambda: job.state in ENDED, timeout=timeout_s):
                self._jobs.pop(job.id, None)
                return True
        return False

    def waits_for(self, job: Job) -> WaitsFor | None:
        """Return what a waiting job waits for: 'other work', 'getting ready', or None.

        It waits for nothing if a worker is free, or can be started, for it and every job before it.
        """
        with self._changed:
            if job.state != "waiting":
                return None
            listed = [one for one in self._jobs.values() if one.at_hand == job.at_hand]
            before = [one for one in listed[: listed.index(job)] if one.state == "waiting"]
            before += [one for one in listed if one.state == "running"]
            readying = [one for one in self._readying if one.state in ("waiting", "running")]
        if job.at_hand:
            return "other work" if len(before) >= AT_HAND else None
        if len(before) + len(readying) < self._workers:
            return None
        return "other work" if before else "getting ready"

    def standing(self, job: Job) -> JobStanding:
        """Return the state of a job, with what it waits for."""
        return JobStanding(
            id=job.id,
            work=job.work,
            state=job.state,
            done=job.done,
            total=job.total,
            stage=job.stage,
            stage_done=job.stage_done,
            stage_total=job.stage_total,
            waits_for=self.waits_for(job),
            faults=tuple(job.faults),
            revision=job.revision,
        )

    def get_ready(self) -> None:
        """Let a worker compile and load slow parts beside the first jobs; this job is not listed."""
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
            If there is none: never started, dropped, or from before a restart of the service.
        """
        with self._changed:
            job = self._jobs.get(job_id)
        if job is None:
            raise UnknownRecord(message("fault.no_such_job"))
        return job

    def all(self) -> list[Job]:
        """Return every job, newest first."""
        with self._changed:
            return list(self._jobs.values())[::-1]

    def cancel(self, job_id: str) -> Job:
        """Cancel a job that waits or runs; a finished one stays as it is."""
        job = self.get(job_id)
        with self._changed:
            if job.state not in ENDED:
                job.cancelled = True
            if job.state == "waiting":
                self._set(job, state="cancelled")
        return job

    def wait(self, job_id: str, *, after_revision: int = -1, timeout_s: float = 30.0) -> Job:
        """Wait until a job has changed since a revision, or until the timeout; return it."""
        job = self.get(job_id)
        with self._changed:
            self._changed.wait_for(lambda: job.revision > after_revision, timeout=timeout_s)
        return job

    def forget(self, speaks: Speaks) -> int:
        """Drop what jobs contain about somebody who was forgotten; return how many jobs were dropped.

        Finished jobs are dropped with their results, and so are jobs whose order mentions the person. The
        results of other jobs are checked when they end.

        Parameters
        ----------
        speaks : callable
            Returns whether a text mentions the person.
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
        """Cancel everything, notify those who wait, and end the workers; a second call does nothing."""
        self._closed = True
        for job in self._readying:
            job.cancelled = True
        for job in self.all():
            if job.state not in ENDED:
                self.cancel(job.id)
        with self._changed:
            threads, self._threads, self._workers = self._threads, [], 0
            hands, self._hands = self._hands, []
        for _ in threads:
            self._queue.put(None)
        for _ in hands:
            self._at_hand.put(None)
        for thread in (*threads, *hands):
            thread.join(timeout=CLOSE_S)
        for worker in list(self._alive):
            worker.end()

    def _set(self, job: Job, **values: Any) -> None:
        with self._changed:
            for name, value in values.items():
                setattr(job, name, value)
            job.revision += 1
            let_go = job.let_go if job.state in ENDED else None
            if job.state in ENDED:
                job.call = job.let_go = None
            self._changed.notify_all()
        if let_go is not None:
            let_go()

    def _drop_old(self) -> None:
        ended = [job.id for job in self._jobs.values() if job.state in ENDED]
        for job_id in ended[: max(len(ended) - MOST_KEPT, 0)]:
            del self._jobs[job_id]

    def _attend(self) -> None:
        """Run one worker process: give it one job after another."""
        worker: Worker | None = None
        while (job := self._queue.get()) is not None:
            if not self._taken(job):
                continue
            if worker is None or not worker.alive():
                worker = self._hired()
            self._do(job, partial(self._by_worker, worker, job))
        if worker is not None:
            worker.end()
            self._alive.discard(worker)

    def _attend_at_hand(self) -> None:
        """Do one job after another in this process."""
        while (job := self._at_hand.get()) is not None:
            call = job.call
            if call is not None and self._taken(job):
                self._do(job, call)
            # Release the job's file before waiting for the next job.
            del job, call

    def _taken(self, job: Job) -> bool:
        with self._changed:
            if job.state != "waiting":
                return False
            self._set(job, state="running")
        return True

    def _by_worker(self, worker: Worker, job: Job, watch: Watch) -> Any:
        try:
            result = worker.do(self._work[job.work], job.arguments, watch)
        except Stopped:
            worker.end()
            raise
        finish = self._finish.get(job.work)
        return finish(job, result) if finish else result

    def _do(self, job: Job, call: Callable[[Watch], Any]) -> None:
        try:
            result = call(self._watch(job))
            if any(speaks(repr(result)) for speaks in job.forgotten):
                raise Refused(MEANWHILE)
            self._set(job, state="done", result=result)
        except Stopped as stopped:
            self._set(job, state="cancelled" if job.cancelled else "failed", faults=[stopped.message])
        except ColdfieldError as error:
            self._set(job, state="failed", faults=list(placed(error)), error=error)
        except Exception as error:
            name = str(error) if isinstance(error, RuntimeError) else type(error).__name__
            log.error("job %s: %s", job.work, name)
            self._set(job, state="failed", faults=[message("fault.inside_coldfield", name=name)], error=error)
        job.arguments = {}

    def _hired(self) -> Worker:
        worker = Worker()
        self._alive = {one for one in self._alive if one.alive()} | {worker}
        return worker

    def _watch(self, job: Job) -> Watch:
        latest = self._clock() + self._longest_s
        told: tuple[int, int, str, tuple[int, int] | None] | None = None

        def watch(done: int | None, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
            nonlocal told
            if job.cancelled:
                raise Stopped(message("fault.job_cancelled"))
            if self._clock() > latest:
                raise Stopped(message("fault.job_too_long", minutes=number(self._longest_s / 60, 0)))
            if done is not None and told != (done, total, stage, at):
                told = (done, total, stage, at)
                here, whole = at or (done, total)
                self._set(job, done=done, total=total, stage=stage, stage_done=here, stage_total=whole)

        return watch
