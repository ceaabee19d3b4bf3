"""Progress of long work: one bar over all stages, with the weight of each known from the start."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Protocol

Steps = Callable[[int, int], None]
"""Called with the steps done of one stage, and the stage's total."""


class Progress(Protocol):
    """Called with the progress of all work, the current stage, and the step of that stage."""

    def __call__(self, done: int, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
        """Record the progress."""


def not_told(done: int, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
    """Ignore the progress, for callers that do not report it."""


class Stages:
    """Work in successive stages, reported as one.

    Parameters
    ----------
    progress : callable
        Called with (done, total, stage, (done, total) of the stage). `done` never falls, and reaches `total`
        only with the last step of the last stage.
    weights : mapping
        Stage -> its weight in whole steps of the bar, in the order of the work.

    Examples
    --------
    >>> stages = Stages(lambda done, total, stage, at: print(done, total, stage, at), {"read": 2, "play": 8})
    >>> stages.at("read")(1, 2)
    1 10 read (1, 2)
    >>> stages.at("play")(1, 4)
    4 10 play (1, 4)
    """

    def __init__(self, progress: Progress, weights: Mapping[str, int]) -> None:
        self._progress = progress
        self._weights = dict(weights)
        self._total = sum(self._weights.values())

    def at(self, stage: str) -> Steps:
        """Return the function to call with the steps of one stage."""
        names = list(self._weights)
        before = sum(self._weights[name] for name in names[: names.index(stage)])
        weight = self._weights[stage]

        def tell(done: int, total: int) -> None:
            share = weight * done // total if total else 0
            self._progress(before + share, self._total, stage, (done, total))

        return tell

    def within(self, stage: str) -> Progress:
        """Return the progress function for work that is one stage of this one."""
        tell = self.at(stage)

        def progress(done: int, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
            tell(done, total)

        return progress
