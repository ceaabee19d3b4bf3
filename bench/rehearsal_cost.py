"""Draw the cost of a rehearsal by runs, burials and people, docs/pictures/rehearsal_cost.png.

    python bench/rehearsal_cost.py

It is the processor time of one thread, best of several rounds, so that other work on the machine hardly
matters. The exponent with which a run's cost grows from one burial to eight, and the time of 10,000 runs, are
printed with their goals.
"""

from __future__ import annotations

import sys
from math import inf, log
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "rescue"))

from small_drills import burial, drill, searcher, straight_lanes

from coldfield.pictures.style import PEOPLE, dress, figure, picture
from coldfield.rescue.kernel.layout import Fixed
from coldfield.rescue.kernel.runs import packed, play_runs
from coldfield.rescue.settings import SETTINGS

ROOT = Path(__file__).parents[1]
BURIALS = (1, 2, 4, 8, 10)
PEOPLE_THERE = (1, 2, 4, 8, 12, 16, 30)
ROUNDS, RUNS = 6, 200
GOAL_POWER, GOAL_S = 1.2, 2.0


def laid_out(burials: int, people: int) -> Fixed:
    """Return a drill with the given number of burials and people, ready to play."""
    places = [(10.0 + 60.0 * (k % 3) / 2, 15.0 + 6.0 * k) for k in range(burials)]
    made = drill(
        [burial(f"B{k}", at) for k, at in enumerate(places)],
        [searcher(f"s{k}") for k in range(people)],
        size_m=80.0,
    )
    return packed(made, straight_lanes(made, width_m=80.0 / min(people, 4)), None, SETTINGS)


def seconds(drills: list[tuple[Fixed, int]]) -> list[float]:
    """Return the processor time of each drill with its number of runs, s."""
    best = [inf] * len(drills)
    for _ in range(ROUNDS):
        for k, (fixed, runs) in enumerate(drills):
            begin = process_time()
            play_runs(fixed, seed=1, first_run=0, last_run=runs)
            best[k] = min(best[k], process_time() - begin)
    return best


def power(costs: dict[int, float]) -> float:
    """Return the exponent with which a cost grows from one burial to eight, fitted to logarithms."""
    points = [(log(n), log(costs[n])) for n in BURIALS if n <= 8]
    x, y = (sum(values) / len(points) for values in zip(*points, strict=True))
    return sum((a - x) * (b - y) for a, b in points) / sum((a - x) ** 2 for a, _ in points)


def main() -> None:
    drawn = figure(width_cm=20, height_cm=8)
    left, right = (dress(axes) for axes in drawn.subplots(1, 2))
    sizes = (100, 300, 1000, 3000, 10_000)
    times = seconds([(laid_out(2, 4), runs) for runs in sizes])
    left.loglog(sizes, times, marker="o", color=PEOPLE[0])
    left.set_xlabel("runs (two burials, four people)")
    left.set_ylabel("seconds on one core")
    people = PEOPLE_THERE
    taken = iter(seconds([(laid_out(burials, count), RUNS) for burials in BURIALS for count in people]))
    costs = {burials: [next(taken) / RUNS * 1e3 for _ in people] for burials in BURIALS}
    for k, (burials, cost) in enumerate(costs.items()):
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
    for k, count in enumerate(people):
        grows = power({burials: cost[k] for burials, cost in costs.items()})
        print(f"{count} people: grows by the power {grows:.2f} (goal: at most {GOAL_POWER} for four)")
    print(f"10,000 runs: {times[-1]:.2f} s, {times[-1] / GOAL_S:.2f} of the goal")
    right.set_xlabel("people")
    right.set_ylabel("milliseconds a run")
    print("runs:", ", ".join(f"{n} {t:.2f} s" for n, t in zip(sizes, times, strict=True)))
    (ROOT / "docs" / "pictures" / "rehearsal_cost.png").write_bytes(picture(drawn, "png", dpi=110))


if __name__ == "__main__":
    main()
