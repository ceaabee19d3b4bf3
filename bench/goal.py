"""Print measurements as a share of their goals; nothing fails on a busy machine."""

from __future__ import annotations


def against_goal(what: str, seconds: float, goal_s: float) -> None:
    """Print how long something took, as a share of its goal."""
    print(f"\n{what}: {1e3 * seconds:.3g} ms, {seconds / goal_s:.2f} of its goal of {1e3 * goal_s:.3g} ms")


def times_as_fast(what: str, ours_s: float, theirs_s: float, goal: float) -> None:
    """Print how many times as long another method took, and the goal for that factor."""
    print(f"\n{what}: {1e3 * ours_s:.3g} ms, {theirs_s / ours_s:.1f} times as fast, wanted {goal:.3g} times")
