"""Work on an uploaded file: the answer if it is quick, otherwise a job with progress and cancellation."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from anyio import CapacityLimiter, to_thread
from fastapi.responses import JSONResponse, Response

from coldfield.app.answers import plain
from coldfield.app.jobs.jobs import Jobs
from coldfield.app.jobs.stages import Progress
from coldfield.errors import Refused, StoreTrouble
from coldfield.message import message
from coldfield.records.store import Put

ANSWER_S = 3.0
"""How long a request waits before it becomes a job, s. A write waits less for its turn, so a busy service is
reported. Setting."""


async def soon(
    jobs: Jobs,
    work: str,
    call: Callable[[Progress], Any],
    *,
    order: Mapping[str, Any],
    let_go: Callable[[], object] = lambda: None,
    within_s: float | None = None,
) -> Any:
    """Do the work of a request; return its result, or after `ANSWER_S` the job that it became (202).

    Parameters
    ----------
    jobs : Jobs
        Runs the work in a thread of this process.
    work : str
        The kind of job.
    call : callable
        Does the work. It is called with a progress function; if that raises, the work must undo everything.
    order : mapping
        The order, shown with the job.
    let_go : callable
        Closes the job's resources, however it ends.
    within_s : float, optional
        Used instead of `ANSWER_S`.

    Raises
    ------
    ColdfieldError
        If the work raised it in time.
    """
    followed = threading.Event()
    job = jobs.begin(work, partial(_patiently, call, followed), order=order, let_go=let_go)
    timeout_s = ANSWER_S if within_s is None else within_s
    in_time = await to_thread.run_sync(jobs.ends_within, job, timeout_s, limiter=CapacityLimiter(1))
    if not in_time:
        followed.set()
        return JSONResponse(plain(jobs.standing(job)), status_code=202)
    if job.error is not None:
        raise job.error
    if job.state != "done":
        raise Refused(message("fault.was_cancelled"))
    return job.result


async def kept_soon(
    jobs: Jobs,
    keep: Callable[[Progress], Put],
    *,
    order: Mapping[str, Any],
    response: Response,
) -> Any:
    """Keep an uploaded file as a record; return it with status and ETag, or the job it became (202).

    Parameters
    ----------
    jobs, order
        As for `soon`; the kind of job is that of the order.
    keep : callable
        Keeps the record; called with a progress function.
    response : Response
        Gets the status and the ETag.
    """
    kept = await soon(jobs, order["work"], keep, order=order)
    if isinstance(kept, Response):
        return kept
    response.status_code = 201 if kept.created else 200
    response.headers["ETag"] = f'"{kept.record["version"]}"'
    return kept.record


def _patiently(call: Callable[[Progress], Any], followed: threading.Event, progress: Progress) -> Any:
    """Do the work; once nobody waits for the answer, retry while the records are busy."""
    while True:
        progress(0, 0)
        try:
            return call(progress)
        except StoreTrouble as error:
            if error.kind != "busy" or not followed.is_set():
                raise
