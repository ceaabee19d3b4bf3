"""How likely a probe line strikes, and how long it takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.cli.pair import Pair
from coldfield.message import Message, message, number

if TYPE_CHECKING:
    from coldfield.app.rehearsals.answers import PatternAnswer, ProbingAnswer

SPACING = Pair(name="across,along", example="0.75,0.70")


@click.command("probing")
@click.option(
    "--spacing-m", type=SPACING, help="Spacing of your own pattern, m; default: the patterns in use."
)
@click.option("--staggered", is_flag=True, help="Shift every second step by half a hole.")
@click.option("--holes", type=click.IntRange(1, 5), default=1, show_default=True, help="Holes per step.")
@click.option("--depth-m", type=float, default=1.5, show_default=True, help="Depth of the pass.")
@click.option("--burial-depth-m", type=float, default=1.0, show_default=True, help="Depth of the body.")
@click.option(
    "--deviation-deg", type=float, default=3.0, show_default=True, help="Spread of the probe's direction."
)
@click.option("--area-m2", type=float, default=10_000.0, show_default=True, help="Ground to probe.")
@click.option("--people", type=int, default=20, show_default=True, help="People in the line.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    spacing_m: tuple[float, float] | None,
    staggered: bool,
    holes: int,
    depth_m: float,
    burial_depth_m: float,
    deviation_deg: float,
    area_m2: float,
    people: int,
    as_json: bool,
) -> None:
    """Show how likely a probe line strikes a body, and how long it takes.

    The model is shown beside the published value of each pattern; if they differ, plan with the lower one.
    """
    from coldfield.app.answers import json_text
    from coldfield.app.rehearsals.probing import probing_table

    told = probing_table(
        spacing_m=spacing_m,
        staggered=staggered,
        holes=holes,
        depth_m=depth_m,
        burial_depth_m=burial_depth_m,
        deviation_deg=deviation_deg,
        area_m2=area_m2,
        people=people,
    )
    click.echo(json_text(told) if as_json else in_lines(_lines(told)))


def _lines(told: ProbingAnswer) -> list[Message]:
    lines = [line for row in told.patterns for line in _pattern(row, told)]
    return [*lines, *(message("command.note_line", note=note) for note in told.notes)]


def _pattern(row: PatternAnswer, told: ProbingAnswer) -> list[Message]:
    across, along = (number(100.0 * v, 0) for v in row.spacing_m)
    chances = message(
        "command.probing.pattern",
        name=row.name,
        across=across,
        along=along,
        depth=number(row.depth_m),
        chance=number(100 * row.strike_probability, 0),
        burial=number(told.burial_depth_m),
        flat=number(100 * row.flat_strike_probability, 0),
        any=number(100 * row.any_depth_strike_probability, 0),
    )
    area, hours = number(told.area_m2, 0), number(row.seconds / 3600, 1)
    lines = [chances, message("command.probing.effort", people=told.people, area=area, hours=hours)]
    if row.published is not None and row.published_probability is not None:
        chance = number(100 * row.published_probability, 0)
        lines.append(message("command.probing.published", chance=chance, source=row.published))
    return lines
