"""Screen the ground of a drill on an elevation grid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.message import Message, message, number

if TYPE_CHECKING:
    from coldfield.app.ground.answers import GroundAnswer


@click.command("ground")
@click.argument("drill")
@click.option("--elevation", required=True, help="Elevation grid: ESRI ASCII or GeoTIFF.")
@click.option("--crs", help="Its coordinate system, if the file does not give it: EPSG:32633, or site.")
@click.option(
    "--map", "picture", help="Draw slope, contours and steep ground that reaches the site: .svg or .png."
)
@click.option("--contours", help="Write contour lines as GeoJSON.")
@click.option("--contour-step-m", type=float, default=10.0, show_default=True, help="Height between them.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    elevation: str,
    crs: str | None,
    picture: str | None,
    contours: str | None,
    contour_step_m: float,
    as_json: bool,
) -> None:
    """Screen the practice site of DRILL for steep ground above it.

    The answer is 'warning', 'cannot tell' or 'nothing found', with reasons. It never clears a site:
    the local bulletin, local rules and a qualified leader decide.
    """
    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.ground.grid import (
        draw_ground_map,
        ground_answer,
        ground_for,
        load_grid,
        write_contours,
    )

    loaded = load_drill(drill, on_earth=bool(contours))
    grid = load_grid(elevation, loaded, crs=crs)
    screen = ground_for(loaded, grid)
    if picture:
        draw_ground_map(loaded, grid, screen, picture)
    if contours:
        write_contours(loaded, grid, contours, step_m=contour_step_m)
    told = ground_answer(screen, grid, loaded)
    click.echo(json_text(told) if as_json else in_lines(_lines(told)))


def _lines(told: GroundAnswer) -> list[Message]:
    from coldfield.pictures.ground_map import VERDICTS

    slope = number(told.slope_max_deg, 0)
    plane, drill = (
        {"slope": number(one.slope_deg, 1), "aspect": number(one.aspect_deg, 0)}
        for one in (told.plane, told.drill)
    )
    return [
        message("command.ground.verdict", verdict=VERDICTS[told.verdict], slope=slope),
        *(message("command.ground.reason", reason=reason) for reason in told.reasons),
        message("command.ground.plane", **plane),
        message("command.ground.drill", **drill),
        *(message("command.note_line", note=note) for note in told.notes),
    ]
