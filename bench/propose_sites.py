"""Judge proposals on ten invented sites with a third seed, for docs/coaching.md.

python bench/propose_sites.py [--seed 2] [--third 733]

A wish is fulfilled if the p90 of the third seed is between the wished minutes, plus or minus two standard
errors.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "coaching"))

from judging import THIRD_SEED, again, check_can_be_laid_out, proposed
from ten_sites import CASES

from coldfield.errors import ColdfieldError

GOAL_S = 20.0


def main() -> None:
    asked = ArgumentParser(description="Proposals on ten invented sites, judged with a third seed.")
    asked.add_argument("--seed", type=int, default=2)
    asked.add_argument("--third", type=int, default=THIRD_SEED)
    given = asked.parse_args()
    for case in CASES:
        low, high = case.p90_min
        try:
            answer = proposed(case, seed=given.seed)
        except ColdfieldError as error:
            print(f"{case.name}: {error}", flush=True)
            continue
        rows = []
        for one, told in zip(answer.proposals, again(answer, seed=given.third), strict=True):
            check_can_be_laid_out(case, one.drill)
            p90, doubt = told.p90_s / 60.0, told.p90_doubt_s / 60.0
            holds = low - 2 * doubt <= p90 <= high + 2 * doubt and told.found_fraction >= 0.94
            rows.append(f"{one.predicted.p90_s / 60:.1f} -> {p90:.1f} ({'holds' if holds else 'MISSED'})")
        print(
            f"{case.name}, {low:g} to {high:g} min, {', '.join(case.wish) or 'no more'}: {'; '.join(rows)}; "
            f"{answer.candidates} candidates, {answer.seconds:.1f} s, "
            f"{answer.seconds / GOAL_S:.2f} of the goal",
            flush=True,
        )


if __name__ == "__main__":
    main()
