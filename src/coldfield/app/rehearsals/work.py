"""Make a rehearsal in a worker process: plain values in, plain values out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coldfield.app.jobs.stages import Progress, Stages
from coldfield.app.rehearsals.answers import RehearsalAnswer
from coldfield.app.rehearsals.document import rehearsal_answer
from coldfield.app.rehearsals.rehearse import Rehearsed, changes_of, rehearse_drill, worth_of_changes
from coldfield.drill.drill import Drill
from coldfield.rescue.compare import Difference, difference

if TYPE_CHECKING:
    from coldfield.app.coaching.group_runs import GroupRuns


def rehearse_work(
    *,
    drill: Drill,
    runs: int,
    seed: int,
    strip_width_m: float | None = None,
    anywhere: bool = False,
    worth: bool = False,
    before: Drill | None = None,
    group: GroupRuns | None = None,
    progress: Progress,
) -> RehearsalAnswer:
    """Return what `coldfield rehearse --json` prints for the same drill, runs and seed.

    Parameters
    ----------
    drill : Drill
        The drill.
    runs, seed, strip_width_m, anywhere
        As in `rehearse_drill`.
    worth : bool
        Also play every change, to find what helps most.
    before : Drill, optional
        The drill before a change: also rehearsed, with the same draws, for comparison. Each drill then uses
        its own width.
    group : GroupRuns, optional
        The group whose own figures replace the settings.
    progress : callable
        Called with those of the stages 'learning', 'getting ready', 'runs', 'before' and 'changes' that were
        asked for.

    Raises
    ------
    Refused
        If the runs of the group show too little.
    """
    # The module is needed only for a group, and takes a second to load.
    if group is not None:
        from coldfield.app.coaching.own import learned_enough, with_people
    weights = {**({} if group is None else {"learning": runs}), "getting ready": 0, "runs": runs}
    if before is not None:
        weights["before"] = runs
    if worth:
        weights["changes"] = runs * (2 * len(changes_of(drill)) + 1)
    stages = Stages(progress, weights)
    learned = None if group is None else learned_enough(group, progress=stages.at("learning"))
    stages.at("getting ready")(0, 1)

    def played(one: Drill, stage: str) -> Rehearsed:
        own = None
        if group is not None and learned is not None:
            own = with_people(one, group, learned, seed=seed)
        return rehearse_drill(
            one,
            runs=runs,
            seed=seed,
            strip_width_m=strip_width_m,
            anywhere=anywhere,
            own=own,
            meanwhile=True,
            progress=stages.at(stage),
        )

    now = played(drill, "runs")
    old = None if before is None else played(before, "before")
    gap = None if old is None else _gap(old, now)
    brought = worth_of_changes(now, meanwhile=True, progress=stages.at("changes")) if worth else None
    return rehearsal_answer(now, brought, before=old, gap=gap)


def _gap(old: Rehearsed, now: Rehearsed) -> Difference:
    return difference(old.rehearsal, now.rehearsal, horizon_s=now.settings.horizon_s)
