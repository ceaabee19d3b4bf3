"""How far long work is: one bar over all its stages, the weight of each known before the first begins."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Protocol

Steps = Callable[[int, int], None]
"""Told the steps done of one stage, and all steps of it."""


class Progress(Protocol):
    """Told how far all of the work is, the stage it is at, and the step of that stage."""

    def __call__(self, done: int, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
        """Take note."""


def not_told(done: int, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
    """Take no note: nobody watches."""


class Stages:
    """Work that is done in stages, one after the other, told as one.

    Parameters
    ----------
    progress : callable
        Told (done, total, stage, (done, total) of the stage); `done` never falls, and reaches `total`
        with the last step of the last stage only.
    weights : mapping
        Stage -> how much of the work it is, in whole steps of the bar, in the order of the work.

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
        """Return what is told the steps of one stage."""
        names = list(self._weights)
        before = sum(self._weights[name] for name in names[: names.index(stage)])
        weight = self._weights[stage]

        def tell(done: int, total: int) -> None:
            share = weight * done // total if total else 0
            self._progress(before + share, self._total, stage, (done, total))

        return tell

    def within(self, stage: str) -> Progress:
        """Return what is told the progress of work that is one stage of this."""
        tell = self.at(stage)

        def progress(done: int, total: int, stage: str = "", at: tuple[int, int] | None = None) -> None:
            tell(done, total)

        return progress
