"""Play the runs of a rehearsal on a few threads, compiled or, until that is ready, in plain Python."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from functools import partial

from coldfield.drill import Drill
from coldfield.errors import Refused
from coldfield.message import message
from coldfield.rescue.rehearsal import Rehearsal, Scene, joined, rehearse
from coldfield.rescue.unsure import DrawnFor, rehearse_unsure

CHUNK_RUNS = 250
"""Runs per piece of work: small enough for progress and cancellation, the same for any number of workers."""

PLAIN_RUNS = 10
"""Runs per piece where plain Python plays until the compiled program is ready."""

FEW_RUNS, MANY_RUNS = 60, 600
"""Up to `FEW_RUNS` runs of two burials and four people, the plain-Python program is quicker than loading the
compiled one; up to `MANY_RUNS` it is quicker than compiling it. Both give the same results."""

Progress = Callable[[int, int], None]
"""Called with the runs done so far and the total."""

Cancelled = Callable[[], bool]
"""Called between two pieces of work; True ends the rehearsal."""


@dataclass(slots=True)
class Choice:
    """Decides which program plays the next piece.

    `compiled` applies from the first run. With `meanwhile`, plain Python plays small pieces until another
    process has compiled the program, or until compiling it here would have been quicker.
    """

    compiled: bool
    meanwhile: bool = False
    runs_per_run: float = 1.0

    def now(self, done: int) -> bool:
        """Return whether the piece after this many runs is for the compiled program."""
        if self.meanwhile and not self.compiled:
            self.compiled = kernel_ready() or done * self.runs_per_run >= MANY_RUNS
        return self.compiled

    def piece_runs(self) -> int:
        """Return the number of runs in the next piece."""
        return PLAIN_RUNS if self.meanwhile and not self.compiled else CHUNK_RUNS


def choice_for(drill: Drill, runs: int, *, meanwhile: bool = False) -> Choice:
    """Return which program plays this many runs of a drill."""
    if meanwhile and as_runs(drill, runs) > FEW_RUNS:
        return Choice(kernel_ready(), meanwhile=True, runs_per_run=as_runs(drill, 1))
    return Choice(uses_compiled(drill, runs))


def uses_compiled(drill: Drill, runs: int) -> bool:
    """Return whether this many runs of a drill justify the compiled program."""
    if as_runs(drill, runs) <= FEW_RUNS:
        return False
    return as_runs(drill, runs) > MANY_RUNS or kernel_ready()


def must_compile(drill: Drill, runs: int) -> bool:
    """Return whether these runs first have to wait for the compiler, once on each machine."""
    return as_runs(drill, runs) > MANY_RUNS and not kernel_ready()


def as_runs(drill: Drill, runs: int) -> float:
    """Return how many runs of two burials and four people take the same time, roughly, as measured."""
    burials, people = len(drill.burials), len(drill.searchers)
    return runs * burials * (burials + 2) * (people + 2) / 48.0


def kernel_ready() -> bool:
    """Return whether the program was compiled before on this machine."""
    from coldfield.rescue.kernel.runs import is_compiled

    return is_compiled()


def play_all(
    scene: Scene,
    choice: Choice,
    *,
    runs: int,
    workers: int,
    progress: Progress | None,
    cancelled: Cancelled | None,
    block_runs: int = 0,
    drawn: DrawnFor | None = None,
) -> Rehearsal:
    """Play all runs on a few threads; results are in the order of the runs.

    With `block_runs` above 0 constants are drawn too, again after each block of that many runs; by `drawn` if
    given.

    Raises
    ------
    Refused
        If `cancelled` said so.
    """
    done: dict[int, Rehearsal] = {}
    waiting: dict[Future[Rehearsal], int] = {}
    pieces = _pieces(scene, choice, runs)
    with ThreadPoolExecutor(max_workers=workers) as pool:
        try:
            while True:
                while len(waiting) < 2 * workers and (piece := next(pieces, None)) is not None:
                    first, last, prepared = piece
                    made = pool.submit(_part, scene, block_runs, first, last, prepared, drawn)
                    waiting[made] = first
                if not waiting:
                    break
                for future in wait(waiting, return_when=FIRST_COMPLETED).done:
                    done[waiting.pop(future)] = future.result()
                if progress is not None:
                    progress(sum(part.runs for part in done.values()), runs)
                if cancelled is not None and cancelled():
                    raise Refused(message("fault.rehearsal_cancelled"))
        finally:
            for future in waiting:
                future.cancel()
    return joined([done[first] for first in sorted(done)])


def _part(
    scene: Scene,
    block_runs: int,
    first: int,
    last: int,
    prepared: object | None,
    drawn: DrawnFor | None,
) -> Rehearsal:
    """Play some runs; without `prepared` in plain Python."""
    played = partial(rehearse_unsure, block_runs=block_runs, drawn=drawn) if block_runs else rehearse
    return played(scene, first_run=first, last_run=last, compiled=prepared is not None, prepared=prepared)


def _pieces(scene: Scene, choice: Choice, runs: int) -> Iterator[tuple[int, int, object | None]]:
    """Yield the first run, the run after the last, and the prepared scene for the compiled program."""
    first, prepared = 0, None
    while first < runs:
        if choice.now(first) and prepared is None:
            prepared = scene.prepared()
        last = min(first + choice.piece_runs(), runs)
        yield first, last, prepared
        first = last
