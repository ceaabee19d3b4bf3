"""Show how interference shortens the range, and why the distances differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.message import Message, message

if TYPE_CHECKING:
    from coldfield.app.hearing.answers import NoiseAnswer


@click.command("noise")
@click.option("--quiet-range-m", type=float, help="Range on the axis in quiet conditions, m.")
@click.option("--today-range-m", type=float, help="The same range today, m.")
@click.option(
    "--rise-at-50cm-db",
    type=float,
    default=1.0,
    show_default=True,
    help="How much an object at 50 cm raises the noise of a searching set, dB.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    quiet_range_m: float | None, today_range_m: float | None, rise_at_50cm_db: float, as_json: bool
) -> None:
    """Show the effect of a noisy object at several distances, and why the rules say 20 cm and 50 cm."""
    from coldfield.app.answers import json_text
    from coldfield.app.hearing.teaching import noise_table

    found = noise_table(
        rise_at_50cm_db=rise_at_50cm_db, quiet_range_m=quiet_range_m, today_range_m=today_range_m
    )
    click.echo(json_text(found) if as_json else in_lines(_lines(found)))


def _lines(found: NoiseAnswer) -> list[Message]:
    from coldfield.words import column

    today = found.noise_rise_db
    # Show the sign even if it rose.
    signs = [] if today is None else [("+" if today >= 0.0 else "") + column(today, 1)]
    rows = [
        message(
            "command.noise.row",
            distance=column(100 * row.distance_m, 0, 5),
            rise=column(row.noise_rise_db, 1, 19),
            share=column(100 * row.range_share, 0, 9),
        )
        for row in found.rows
    ]
    return [
        *(message("command.noise.today", rise=sign) for sign in signs),
        message("command.noise.head"),
        *rows,
        found.searching_side,
        found.transmitting_side,
    ]
