"""Long work: done in another process, followed, cancelled, with clear failures, and never blocking."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import psutil
import pytest

from coldfield.app.jobs.job import Job
from coldfield.app.jobs.jobs import MOST_WAITING, Jobs
from coldfield.errors import Conflict, Refused, UnknownRecord
from coldfield.words import say

WORK = {name: f"slow_work:{name}" for name in ("count", "refuse", "break_down", "die", "own_id")}


@pytest.fixture(scope="module")
def shared() -> Iterator[Jobs]:
    jobs = Jobs(WORK, finish={"own_id": lambda _job, result: {"pid": result}}, workers=1)
    yield jobs
    jobs.close()


def submit(jobs: Jobs, job_id: str, work: str, **arguments: Any) -> Job:
    return jobs.submit(job_id, work, order=arguments, arguments=lambda: arguments)


def ended(jobs: Jobs, job_id: str) -> Job:
    job = jobs.get(job_id)
    while job.state not in ("done", "failed", "cancelled"):
        before = job.revision
        jobs.wait(job_id, after_revision=before, timeout_s=60)
        assert job.revision > before, "nothing moved for a minute"
    return job


def test_contract_work_is_done_in_another_process_and_its_result_finished_in_this_one(shared: Jobs) -> None:
    submit(shared, "who", "own_id")
    job = ended(shared, "who")
    assert job.state == "done"
    assert job.result["pid"] != os.getpid()


def test_contract_progress_only_grows_and_reaches_the_end(shared: Jobs) -> None:
    job = submit(shared, "count", "count", steps=4, pause_s=0.02)
    seen = []
    while job.state != "done":
        shared.wait("count", after_revision=job.revision, timeout_s=60)
        seen.append(job.done)
    assert seen == sorted(seen)
    assert (job.done, job.total, job.result) == (4, 4, 4)


def test_contract_the_same_order_twice_is_one_job_another_is_refused(shared: Jobs) -> None:
    first = submit(shared, "twice", "count", steps=1, pause_s=0.0)
    assert submit(shared, "twice", "count", steps=1, pause_s=0.0) is first
    with pytest.raises(Conflict):
        submit(shared, "twice", "count", steps=2, pause_s=0.0)


def test_contract_a_running_job_is_cancelled_within_a_second_and_its_process_gone(shared: Jobs) -> None:
    submit(shared, "which", "own_id")
    worker = psutil.Process(ended(shared, "which").result["pid"])
    job = submit(shared, "long", "count", steps=1, pause_s=300.0)
    shared.wait("long", after_revision=job.revision, timeout_s=60)
    shared.cancel("long")
    assert ended(shared, "long").state == "cancelled"
    worker.wait(timeout=5)
    assert ended(shared, submit(shared, "after", "own_id").id).state == "done"


def test_contract_a_waiting_job_is_cancelled_at_once(shared: Jobs) -> None:
    submit(shared, "busy", "count", steps=1, pause_s=300.0)
    submit(shared, "later", "count", steps=1, pause_s=0.0)
    assert shared.cancel("later").state == "cancelled"
    shared.cancel("busy")
    assert ended(shared, "busy").state == "cancelled"
    assert shared.cancel("later").state == "cancelled"


def test_contract_faults_come_back_line_by_line(shared: Jobs) -> None:
    submit(shared, "faulty", "refuse")
    job = ended(shared, "faulty")
    assert (job.state, [say(one) for one in job.faults]) == (
        "failed",
        ["order: a: is wrong", "order: b: is wrong"],
    )


def test_contract_an_inner_fault_keeps_its_words_to_itself(
    shared: Jobs, caplog: pytest.LogCaptureFixture
) -> None:
    submit(shared, "broken", "break_down")
    job = ended(shared, "broken")
    assert job.state == "failed"
    assert "ValueError" in say(job.faults[0])
    assert "Adaeze" not in caplog.text + say(job.faults[0])


def test_contract_a_worker_that_dies_fails_its_job_only(shared: Jobs) -> None:
    submit(shared, "dies", "die")
    submit(shared, "lives", "own_id")
    assert ended(shared, "dies").state == "failed"
    assert ended(shared, "lives").state == "done"


def test_contract_work_that_takes_too_long_is_ended() -> None:
    jobs = Jobs(WORK, workers=1, longest_s=0.0)
    submit(jobs, "slow", "count", steps=1, pause_s=300.0)
    job = ended(jobs, "slow")
    assert job.state == "failed"
    assert job.faults[0].code == "fault.job_too_long"
    jobs.close()


def test_contract_only_so_many_wait() -> None:
    jobs = Jobs(WORK, workers=0)
    for i in range(MOST_WAITING):
        submit(jobs, f"w{i}", "count", steps=1, pause_s=0.0)
    with pytest.raises(Refused, match="waiting"):
        submit(jobs, "one-more", "count", steps=1, pause_s=0.0)
    jobs.close()
    assert {job.state for job in jobs.all()} == {"cancelled"}
    assert jobs.forget(lambda _text: False) == MOST_WAITING
    with pytest.raises(UnknownRecord):
        jobs.get("w0")


def test_contract_getting_ready_is_not_among_the_jobs_and_lets_others_through() -> None:
    work = {"get ready": "slow_work:count", "own_id": "slow_work:own_id"}
    jobs = Jobs(work, workers=2)
    jobs.get_ready()
    submit(jobs, "who", "own_id")
    assert ended(jobs, "who").state == "done"
    assert [job.id for job in jobs.all()] == ["who"]
    jobs.close()


def test_regression_a_job_waits_for_other_work_only_where_there_is_other_work() -> None:
    jobs = Jobs(WORK, workers=1)
    first = submit(jobs, "first", "count", steps=1, pause_s=300.0)
    assert jobs.standing(first).waits_for is None
    second = submit(jobs, "second", "count", steps=1, pause_s=0.0)
    assert jobs.standing(second).waits_for == "other work"
    jobs.cancel("first")
    assert ended(jobs, "second").state == "done"
    assert jobs.standing(second).waits_for is None
    jobs.close()


@pytest.mark.parametrize(("workers", "told"), [(1, "getting ready"), (2, None)])
def test_contract_a_job_waits_for_getting_ready_only_where_no_worker_is_free(
    workers: int, told: str | None
) -> None:
    jobs = Jobs({**WORK, "get ready": "slow_work:stay"}, workers=workers)
    jobs.get_ready()
    job = submit(jobs, "mine", "count", steps=1, pause_s=300.0)
    assert jobs.standing(job).waits_for == told
    jobs.close()
