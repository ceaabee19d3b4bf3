"""Measure how often bands with a group's own constants contain held-out runs, for docs/coaching.md.

python bench/coaching_honesty.py [--groups 60] [--family 22] [--day 0.15]

Another family is another set of groups.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "coaching"))

from made_course import DAY, honesty


def main() -> None:
    asked = ArgumentParser(description="How often bands with a group's own constants hold left-out runs.")
    asked.add_argument("--groups", type=int, default=60)
    asked.add_argument("--family", type=int, default=22)
    asked.add_argument("--day", type=float, default=DAY)
    asked.add_argument("--runs", type=int, default=None, help="To learn from; default 5 to 20, drawn.")
    given = asked.parse_args()
    print(f"{given.groups} made groups, family {given.family}; 95 % intervals by resampling groups")
    for other in (False, True):
        told = honesty(
            groups=given.groups, family=given.family, other_digging=other, day=given.day, runs=given.runs
        )
        print(
            f"digging {'other than ours' if other else 'as ours'}: {told.share:.3f} "
            f"({told.low:.3f} to {told.high:.3f}) hold; before any run {told.before:.3f}; "
            f"width {told.width_ratio:.2f} of the one before (on the log scale); "
            f"{told.below:.2f} sooner, {told.above:.2f} later",
            flush=True,
        )


if __name__ == "__main__":
    main()
