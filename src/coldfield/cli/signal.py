"""Show what a receiver hears at a place."""

from __future__ import annotations

from math import radians
from typing import TYPE_CHECKING, Literal

import click

from coldfield.cli.pair import Pair

if TYPE_CHECKING:
    from coldfield.app.hearing.answers import MapAnswer, SignalAnswer
    from coldfield.drill import Drill
    from coldfield.message import Message


PLACE = Pair(name="E,N", example="22,41")


@click.command("signal")
@click.argument("drill")
@click.option(
    "--at",
    "at_m",
    type=PLACE,
    help="Place in the site frame: metres to the east and north of the origin, such as 22,41.",
)
@click.option(
    "--height",
    "height_m",
    type=float,
    help="Height of the set above the snow, m; default: the usual carry height.",
)
@click.option(
    "--heading-deg", type=float, default=0.0, show_default=True, help="Direction in which the searcher walks."
)
@click.option("--searcher", help="Whose receiver, by id or name; default: the first.")
@click.option("--map", "map_path", help="Write the hearing map to this file: .svg or .png.")
@click.option("--neighbour", help="Another drill nearby: warn about its sets that are heard here.")
@click.option("--lanes", "with_lanes", is_flag=True, help="Draw the lane plan into the map.")
@click.option(
    "--theme",
    type=click.Choice(["light", "dark"]),
    default="light",
    show_default=True,
    help="Theme of the map.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    at_m: tuple[float, float] | None,
    height_m: float | None,
    heading_deg: float,
    searcher: str | None,
    map_path: str | None,
    neighbour: str | None,
    with_lanes: bool,
    theme: Literal["light", "dark"],
    as_json: bool,
) -> None:
    """Show what a searcher of DRILL hears of each burial at a place, or draw where everything is heard.

    The map shows the weakest receiver of the group unless --searcher names one.
    """
    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.hearing.answers import MapAnswer
    from coldfield.app.hearing.at_place import signal_at, signal_words
    from coldfield.words import say, word

    if at_m is None and map_path is None and neighbour is None:
        raise click.UsageError(word("fault.place_or_map"))
    loaded = load_drill(drill, on_earth=bool(neighbour))
    other = load_drill(neighbour, on_earth=True) if neighbour else None
    signal = None
    lines: list[str] = []
    if at_m is not None:
        signal = signal_at(
            loaded, at_m, height_m=height_m, heading_rad=radians(heading_deg), searcher=searcher
        )
        lines = [say(line) for line in signal_words(signal, loaded)]
    warnings = _map(loaded, map_path, searcher, other, with_lanes, theme)
    lines += [word("command.signal.map", path=map_path)] if map_path else []
    lines += [word("command.signal.no_neighbour")] if other and not warnings else []
    for warning in warnings:
        click.echo(f"coldfield: {say(warning)}", err=True)
    if as_json:
        drawn = MapAnswer(map=map_path, warnings=tuple(warnings)) if map_path or other else None
        click.echo(json_text(_both(signal, drawn)))
    elif lines:
        click.echo("\n".join(lines))


def _both(signal: SignalAnswer | None, drawn: MapAnswer | None) -> SignalAnswer | MapAnswer | None:
    from coldfield.app.answers import fields_of
    from coldfield.app.hearing.answers import SignalAndMapAnswer

    if signal is None or drawn is None:
        return signal or drawn
    return SignalAndMapAnswer(**fields_of(signal), **fields_of(drawn))


def _map(
    drill: Drill,
    map_path: str | None,
    searcher: str | None,
    other: Drill | None,
    with_lanes: bool,
    theme: Literal["light", "dark"],
) -> list[Message]:
    if map_path is None and other is None:
        return []
    from coldfield.app.hearing.pictures import neighbour_words, neighbours_heard, write_hearing_map

    if map_path is None:
        assert other is not None
        return [neighbour_words(name) for name, _place in neighbours_heard(drill, other)]
    return write_hearing_map(
        drill, map_path, searcher=searcher, neighbour=other, with_lanes=with_lanes, theme=theme
    )
