"""Show how the sets of a drill hide each other's pulses."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.message import Message, message, number

if TYPE_CHECKING:
    from coldfield.app.hearing.answers import OverlapAnswer, OverlapOfTwo


@click.command("overlap")
@click.argument("drill")
@click.option("--minutes", type=float, default=10.0, show_default=True, help="Time to consider.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(drill: str, minutes: float, as_json: bool) -> None:
    """Show how the sets of DRILL hide each other's pulses over time."""
    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.hearing.overlap import pulse_overlap

    found = pulse_overlap(load_drill(drill), duration_s=60.0 * minutes)
    click.echo(json_text(found) if as_json else in_lines(_lines(found)))


def _lines(found: OverlapAnswer) -> list[Message]:
    rows = [
        message(
            "command.overlap.row",
            id=row.id,
            share=number(100 * row.masked_share, 0),
            longest=number(row.longest_masked_s, 0),
            random=number(row.random_phases_longest_p90_s, 0),
            long=number(100 * row.long_run_masked_share, 0),
        )
        for row in found.burials
    ]
    notes = [message("command.note", note=note) for note in found.notes]
    return [*rows, *(_pair(pair) for pair in found.pairs), *notes]


def _pair(pair: OverlapOfTwo) -> Message:
    one, two = pair.ids
    if pair.episode_s is None or pair.comes_back_after_s is None:
        return message("command.overlap.keep", one=one, two=two)
    episode, again = number(pair.episode_s, 0), number(pair.comes_back_after_s, 0)
    return message("command.overlap.pair", one=one, two=two, episode=episode, again=again)
