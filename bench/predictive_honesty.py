"""Measure how often the 80 % bands contain the results of made groups, for docs/rehearsal.md.

python bench/predictive_honesty.py [--groups 60] [--family 1604]

Another family is another set of groups.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "rescue"))

from made_groups import FAMILY, GROUPS, RUNS, coverage


def main() -> None:
    asked = ArgumentParser(description="How often the bands called eight of ten hold what made groups do.")
    asked.add_argument("--groups", type=int, default=GROUPS)
    asked.add_argument("--family", type=int, default=FAMILY)
    given = asked.parse_args()
    print(f"{given.groups} made groups of {RUNS} runs; 95 % intervals by resampling groups")
    for other_digging in (False, True):
        for unsure in (True, False):
            told = coverage(
                unsure=unsure, other_digging=other_digging, groups=given.groups, family=given.family
            )
            band = "constants drawn too" if unsure else "runs alone"
            digging = "other than ours" if other_digging else "as ours"
            print(f"digging {digging}; {band}: {told.share:.2f} ({told.low:.2f} to {told.high:.2f})")


if __name__ == "__main__":
    main()
