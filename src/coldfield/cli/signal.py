"""Tell what a receiver hears at a place."""

from __future__ import annotations

import json
from math import radians

import click


class Place(click.ParamType[tuple[float, float]]):
    """Two metres figures, east and north, with a comma between."""

    name = "E,N"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        """Return (east, north)."""
        if isinstance(value, tuple):
            return value
        try:
            east, north = (float(part) for part in str(value).split(","))
        except ValueError:
            self.fail(f"'{value}' is not two numbers with a comma between, as in 22,41", param, ctx)
        return east, north


@click.command("signal")
@click.argument("drill")
@click.option("--at", "at_m", type=Place(), help="Place in the site frame, metres east and north: 22,41.")
@click.option(
    "--height", "height_m", type=float, help="Height of the set above the snow, m; default: as carried."
)
@click.option("--heading-deg", type=float, default=0.0, show_default=True, help="Way the searcher walks.")
@click.option("--searcher", help="Whose receiver, by id or name; default: the first.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    at_m: tuple[float, float] | None,
    height_m: float | None,
    heading_deg: float,
    searcher: str | None,
    as_json: bool,
) -> None:
    """Tell what a searcher of DRILL hears of each burial at a place."""
    from coldfield.app.drills import load_drill
    from coldfield.app.hearing import signal_at, signal_json, signal_words

    if at_m is None:
        raise click.UsageError("say where: --at E,N")
    signal = signal_at(
        load_drill(drill), at_m, height_m=height_m, heading_rad=radians(heading_deg), searcher=searcher
    )
    click.echo(json.dumps(signal_json(signal)) if as_json else "\n".join(signal_words(signal)))
