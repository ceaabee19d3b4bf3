"""Counts and tables of the debrief trials with a second walker."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from debrief_accuracy import share


@dataclass
class Counts:
    """The counts of the trials, by row."""

    inside: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    error: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    stated: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    told: dict[tuple[str, str], list[bool]] = field(default_factory=lambda: defaultdict(list))
    wrong: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    wrong_of_phones: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    criticised: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    lines: list[str] = field(default_factory=list)

    def add(self, row: str, error: float, stated: float) -> None:
        """Compare one number with its truth."""
        self.inside[row].append(abs(error) <= stated)
        self.error[row].append(error)
        self.stated[row].append(stated)

    def take_in(self, other: Counts) -> None:
        """Add the counts of another set."""
        for name, mine in vars(self).items():
            theirs = getattr(other, name)
            if isinstance(mine, list):
                mine += theirs
                continue
            for row, values in theirs.items():
                mine[row] += values


def report(counts: Counts) -> list[str]:
    """Return the tables, as Markdown."""
    rows = ["| flaw put in | drift | cases | told |", "|---|---|---|---|"]
    rows += [
        f"| {row} | {kernel} | {len(told)} | {share(told)} |"
        for (row, kernel), told in sorted(counts.told.items())
    ]
    for drift, wrong in (("rough and smooth", counts.wrong), ("phone", counts.wrong_of_phones)):
        rows += ["", f"| finding, {drift} | said | contradicted |", "|---|---|---|"]
        rows += [f"| {kind} | {len(w)} | {sum(w)}: {share(w)} |" for kind, w in sorted(wrong.items())]
        every = [w for of_kind in wrong.values() for w in of_kind]
        rows += [f"| all | {len(every)} | {sum(every)}: {share(every)} |"]
    for kernel, blamed in sorted(counts.criticised.items()):
        rows += ["", f"Perfect walkers, {kernel}: {len(blamed)}; criticised {share(blamed)}."]
    rows += [
        "",
        "| quantity | cases | inside what was stated | median error | nine of ten errors | stated, median |",
    ]
    rows += ["|---|---|---|---|---|---|"]
    for row, inside in counts.inside.items():
        error, stated = np.array(counts.error[row]), np.array(counts.stated[row])
        rows.append(
            f"| {row} | {len(inside)} | {share(inside)} | {np.median(error):+.3g} "
            f"| within {np.quantile(np.abs(error), 0.9):.3g} | {np.median(stated):.3g} |"
        )
    return [*rows, "", *counts.lines]
