"""Compile and load slow parts in advance, once in a worker process, so that nobody waits for them."""

from __future__ import annotations

from collections.abc import Callable

from coldfield.app.demo.demo import demo_drill
from coldfield.drill import Drill

Progress = Callable[[int, int], None]


def ready_work(*, progress: Progress) -> None:
    """Do a little of everything compiled: strip width, chances over the ground, a rehearsal.

    Loops that came with the program are ready in a second or two. If numba has to compile them, this takes
    half a minute, once per machine.
    """
    drill = demo_drill()
    steps = (_widths, _chances, _runs)
    for number, step in enumerate(steps):
        progress(number, len(steps))
        step(drill)
    progress(len(steps), len(steps))


def _widths(drill: Drill) -> None:
    from coldfield.app.strips.width import Question, strip_widths

    strip_widths(Question(), drill)


def _chances(drill: Drill) -> None:
    from coldfield.app.strips.lanes import lanes_for
    from coldfield.search.detection.raster import detection

    detection(drill, lanes_for(drill, strip_width_m=30.0).lanes, most=100)


def _runs(drill: Drill) -> None:
    from coldfield.app.rehearsals.rehearse import both_passes
    from coldfield.rescue.lanes_like import NoLanes
    from coldfield.rescue.rehearsal import Scene, rehearse

    lanes, second = both_passes(drill, 30.0)
    scene = Scene(drill=drill, lanes=lanes or NoLanes(), second=second, seed=1)
    rehearse(scene, first_run=0, last_run=1)
