"""One piece of long work: what was asked for, how far it is, what came of it."""

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
"""Kind of job -> what does it, in a worker process."""

Speaks = Callable[[str], bool]
"""Whether a text speaks of somebody."""


@dataclass(slots=True)
class Job:
    """One piece of long work.

    `state` is waiting, running, done, failed or cancelled; `done` of `total` steps of all its work;
    it is at step `stage_done` of `stage_total` of its `stage`. `revision` grows with each change;
    `faults` has each fault of a failed job, `error` is what they came from; `forgotten` tells of
    texts whether they speak of somebody who was forgotten while it was under way. `call` is work that is
    done in this process, `let_go` what closes what that holds.
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
    """How a job stands: waiting, running, done, failed (see `faults`) or cancelled.

    `done` of `total` steps of all its work, from the first stage to the last; `stage_done` of
    `stage_total` steps of the `stage` it is at. `waits_for` tells what a waiting job waits for; None
    where it begins at once. `revision` grows with each change.
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
