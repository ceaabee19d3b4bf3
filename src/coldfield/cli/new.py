"""Start a drill file from a boundary."""

from __future__ import annotations

import click


@click.command("new")
@click.argument("boundary")
@click.option("--name", default="A new drill", show_default=True, help="Name of the drill.")
@click.option(
    "--elevation-m", type=float, help="Elevation of the ground; default: that in the file, otherwise 0."
)
@click.option(
    "--searchers", type=click.IntRange(1, 60), default=2, show_default=True, help="Number of searchers."
)
@click.option("--out", default="-", show_default=True, help="The drill file to write; '-' prints it.")
def command(boundary: str, name: str, elevation_m: float | None, searchers: int, out: str) -> None:
    """Start a drill file from BOUNDARY: a polygon in GeoJSON, or a track or route in GPX.

    Named points become anchors. Then write burials, slope and receivers into the file.
    """
    from coldfield.app.drills.files import save_drill
    from coldfield.app.drills.new import new_drill
    from coldfield.files.drill_json import write_drill
    from coldfield.words import word

    drill = new_drill(boundary, name=name, elevation_m=elevation_m, searchers=searchers)
    if out == "-":
        click.echo(write_drill(drill), nl=False)
    else:
        save_drill(drill, out)
        corners, anchors = len(drill.site.boundary_m), len(drill.site.anchors)
        click.echo(word("command.new.made", path=out, corners=corners, anchors=anchors))
