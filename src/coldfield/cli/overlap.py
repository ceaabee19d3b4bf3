"""Tell how the sets of a drill hide each other's pulses."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from coldfield.app.hearing.answers import OverlapAnswer


@click.command("overlap")
@click.argument("drill")
@click.option("--minutes", type=float, default=10.0, show_default=True, help="How long to look.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(drill: str, minutes: float, as_json: bool) -> None:
    """Tell how the sets of DRILL hide each other's pulses over time."""
    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.hearing.overlap import pulse_overlap

    found = pulse_overlap(load_drill(drill), duration_s=60.0 * minutes)
    click.echo(json_text(found) if as_json else "\n".join(_lines(found)))


def _lines(found: OverlapAnswer) -> list[str]:
    lines = [
        f"{row.id}: {row.masked_share:.0%} of its pulses hidden, longest spell "
        f"{row.longest_masked_s:.0f} s (with random phases nine runs of ten stay below "
        f"{row.random_phases_longest_p90_s:.0f} s); in the long run {row.long_run_masked_share:.0%}"
        for row in found.burials
    ]
    for pair in found.pairs:
        one, two = pair.ids
        if pair.episode_s is None:
            lines.append(f"{one} and {two} keep their phases: they overlap always or never")
        else:
            lines.append(
                f"{one} and {two}: overlap for {pair.episode_s:.0f} s, again after "
                f"{pair.comes_back_after_s:.0f} s"
            )
    return [*lines, *(f"Note: {note}." for note in found.notes)]
