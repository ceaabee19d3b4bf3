"""What a rehearsal costs by runs, burials and people: draws docs/pictures/rehearsal_cost.png.

    python bench/rehearsal_cost.py

Processor time of one thread, so that other work on the machine hardly counts.
"""

from __future__ import annotations

import sys
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "rescue"))

from small_drills import burial, drill, searcher, straight_lanes

from coldfield.pictures.style import PEOPLE, dress, figure, picture
from coldfield.rescue.kernel.runs import packed, play_runs
from coldfield.rescue.settings import SETTINGS

ROOT = Path(__file__).parents[1]


def seconds(burials: int, people: int, runs: int) -> float:
    """Return the processor time of so many runs, s."""
    places = [(10.0 + 60.0 * (k % 3) / 2, 15.0 + 6.0 * k) for k in range(burials)]
    made = drill(
        [burial(f"B{k}", at) for k, at in enumerate(places)],
        [searcher(f"s{k}") for k in range(people)],
        size_m=80.0,
    )
    fixed = packed(made, straight_lanes(made, width_m=80.0 / min(people, 4)), None, SETTINGS)
    play_runs(fixed, seed=1, first_run=0, last_run=2)
    begin = process_time()
    play_runs(fixed, seed=1, first_run=0, last_run=runs)
    return process_time() - begin


def main() -> None:
    drawn = figure(width_cm=20, height_cm=8)
    left, right = (dress(axes) for axes in drawn.subplots(1, 2))
    sizes = (100, 300, 1000, 3000, 10_000)
    times = [seconds(2, 4, runs) for runs in sizes]
    left.loglog(sizes, times, marker="o", color=PEOPLE[0])
    left.set_xlabel("runs (two burials, four people)")
    left.set_ylabel("seconds on one core")
    people = (1, 2, 4, 8, 16, 30)
    for k, burials in enumerate((1, 2, 4, 8, 10)):
        cost = [seconds(burials, count, 300) / 300 * 1e3 for count in people]
        right.loglog(people, cost, marker="o", color=PEOPLE[k])
        right.annotate(
            f"{burials} burials",
            (people[-1], cost[-1]),
            fontsize=7.5,
            color=PEOPLE[k],
            ha="right",
            va="bottom",
        )
        print(
            burials,
            "burials:",
            ", ".join(f"{n} people {c:.2f} ms" for n, c in zip(people, cost, strict=True)),
        )
    right.set_xlabel("people")
    right.set_ylabel("milliseconds a run")
    print("runs:", ", ".join(f"{n} {t:.2f} s" for n, t in zip(sizes, times, strict=True)))
    (ROOT / "docs" / "pictures" / "rehearsal_cost.png").write_bytes(picture(drawn, "png", dpi=110))


if __name__ == "__main__":
    main()
