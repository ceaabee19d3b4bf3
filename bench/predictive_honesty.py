"""How often the bands called eight of ten hold what made groups do: prints the figures of docs/rehearsal.md.

python bench/predictive_honesty.py
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "rescue"))

from made_groups import GROUPS, RUNS, coverage


def main() -> None:
    print(f"{GROUPS} made groups of {RUNS} runs; 95 % intervals by resampling groups")
    for other_digging in (False, True):
        for unsure in (True, False):
            told = coverage(unsure=unsure, other_digging=other_digging)
            band = "constants drawn too" if unsure else "runs alone"
            digging = "other than ours" if other_digging else "as ours"
            print(f"digging {digging}; {band}: {told.share:.2f} ({told.low:.2f} to {told.high:.2f})")


if __name__ == "__main__":
    main()
