"""One long job: its order, its progress and its result."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from coldfield.app.jobs.stages import Progress
from coldfield.message import Message

State = Literal["waiting", "running", "done", "failed", "cancelled"]
ENDED: tuple[State, ...] = ("done", "failed", "cancelled")

WaitsFor = Literal["other work", "getting ready"]

WORK = {
    "rehearse": "coldfield.app.rehearsals.work:rehearse_work",
    "debrief": "coldfield.app.debriefs.work:debrief_work",
    "get ready": "coldfield.app.jobs.ready:ready_work",
    "demo": "coldfield.app.demo.made:demo_work",
    "coach": "coldfield.app.coaching.coach:coach_work",
    "propose": "coldfield.app.coaching.proposing:propose_work",
}
"""Kind of job -> the function that does it, in a worker process."""

Speaks = Callable[[str], bool]
"""Returns whether a text mentions somebody."""


@dataclass(slots=True)
class Job:
    """One long job.

    `state` is waiting, running, done, failed or cancelled. `done` of `total` steps are finished; the job is
    at step `stage_done` of `stage_total` of its `stage`. `revision` grows with each change. `faults` holds
    each fault of a failed job, `error` their exception. `forgotten` tests whether a text mentions somebody
    who was forgotten while the job ran. `call` is work in this process, `let_go` closes its resources.
    """

    id: str
    work: str
    order: Mapping[str, Any]
    arguments: Mapping[str, Any]
    state: State = "waiting"
    done: int = 0
    total: int = 0
    stage: str = ""
    stage_done: int = 0
    stage_total: int = 0
    result: Any = None
    faults: list[Message] = field(default_factory=list)
    revision: int = 0
    cancelled: bool = False
    forgotten: list[Speaks] = field(default_factory=list)
    call: Callable[[Progress], Any] | None = None
    let_go: Callable[[], object] | None = None
    error: Exception | None = None
    at_hand: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JobStanding:
    """The state of a job: waiting, running, done, failed (see `faults`) or cancelled.

    `done` of `total` steps of all stages are finished, and `stage_done` of `stage_total` steps of the current
    `stage`. `waits_for` says what a waiting job waits for; None if it begins at once. `revision` grows with
    each change.
    """

    id: str
    work: str
    state: State
    done: int
    total: int
    stage: str
    stage_done: int
    stage_total: int
    waits_for: WaitsFor | None
    faults: tuple[Message, ...]
    revision: int
