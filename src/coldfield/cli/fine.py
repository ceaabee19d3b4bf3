"""Show where the lowest reading lies over a burial, and what that means for probing."""

from __future__ import annotations

from math import radians
from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.message import Message, message, number

if TYPE_CHECKING:
    from coldfield.app.hearing.answers import FineAnswer


@click.command("fine")
@click.argument("drill", required=False)
@click.option("--burial", help="Which burial of DRILL; default: the first with a set.")
@click.option("--depth-m", type=float, help="Without DRILL: depth of the set, m.")
@click.option("--tilt-deg", type=float, help="Without DRILL: tilt of its antenna, upwards from level.")
@click.option("--picture", help="Write the readings along both axes to this file: .svg or .png.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str | None,
    burial: str | None,
    depth_m: float | None,
    tilt_deg: float | None,
    picture: str | None,
    as_json: bool,
) -> None:
    """Show where the lowest reading lies over a burial of DRILL, or over a set of given depth and tilt."""
    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.hearing.teaching import burial_to_probe, fine_search
    from coldfield.words import word

    if (drill is None) == (depth_m is None or tilt_deg is None):
        raise click.UsageError(word("fault.drill_or_figures"))
    if drill is not None:
        _name, depth, tilt = burial_to_probe(load_drill(drill), burial)
    else:
        assert depth_m is not None
        assert tilt_deg is not None
        depth, tilt = depth_m, radians(tilt_deg)
    found = fine_search(depth_m=depth, tilt_rad=tilt)
    if picture:
        from coldfield.app.hearing.pictures import write_fine_search_chart

        write_fine_search_chart(depth, tilt, picture)
    click.echo(json_text(found) if as_json else in_lines(_lines(found)))


def _lines(found: FineAnswer) -> list[Message]:
    depth, tilt = number(found.depth_m), number(found.tilt_deg, 0)
    rows = [
        message(
            "command.fine.row",
            n=row.antennas,
            reading=number(row.lowest_reading_m, 1),
            offset=number(row.offset_m, 2),
            words=row.words,
        )
        for row in found.receivers
    ]
    notes = [message("command.note", note=note) for note in found.notes]
    return [message("command.fine.set", depth=depth, tilt=tilt), *rows, *notes]
