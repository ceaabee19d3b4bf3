"""Share the ground among the searchers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from coldfield.app.strips.answers import StripsAnswer
    from coldfield.search.lanes.plan import Sharing


@click.command("strips")
@click.argument("drill")
@click.option("--searchers", type=int, help="How many search; default: all of the drill.")
@click.option(
    "--strip-width-m", type=float, help="Width on the snow; default: the drill's, else the edge width."
)
@click.option(
    "--sharing",
    type=click.Choice(["least time", "own sectors", "line abreast"]),
    default="least time",
    show_default=True,
    help="How the ground is shared.",
)
@click.option("--elevation", help="Elevation grid under the ground; default: the drill's even slope.")
@click.option("--crs", help="The grid's coordinate system, where its file does not tell.")
@click.option("--gpx", help="Write the lanes as GPX, one track a searcher.")
@click.option("--geojson", help="Write the lanes as GeoJSON.")
@click.option("--map", "picture", help="Draw the plan, .svg or .png.")
@click.option(
    "--chance", is_flag=True, help="Also tell how likely a set anywhere is heard, and after a second pass."
)
@click.option("--chance-map", help="Draw that chance, .svg or .png.")
@click.option(
    "--compare", "widths", type=float, multiple=True, help="Also tell what this width gains; can be repeated."
)
@click.option("--gone", help="Share the rest anew: this searcher drops out.")
@click.option("--after-s", type=float, default=0.0, show_default=True, help="When they drop out.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    searchers: int | None,
    strip_width_m: float | None,
    sharing: Sharing,
    elevation: str | None,
    crs: str | None,
    gpx: str | None,
    geojson: str | None,
    picture: str | None,
    chance: bool,
    chance_map: str | None,
    widths: tuple[float, ...],
    gone: str | None,
    after_s: float,
    as_json: bool,
) -> None:
    """Plan who walks where in signal search on the ground of DRILL.

    Each place of the ground comes to lie within half a strip width of a lane, measured on the
    snow. The time counts from the entry; beside it stands a time that no plan can beat.
    """
    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.ground.grid import load_grid
    from coldfield.app.strips.lanes import (
        compare_widths,
        lanes_for,
        lanes_without,
        strips_answer,
        write_lanes,
    )

    loaded = load_drill(drill, on_earth=bool(gpx or geojson))
    grid = load_grid(elevation, loaded, crs=crs) if elevation else None
    plan = lanes_for(loaded, searchers=searchers, strip_width_m=strip_width_m, sharing=sharing, grid=grid)
    if gone:
        plan = lanes_without(loaded, plan, gone, after_s=after_s, searchers=searchers, grid=grid)
    write_lanes(loaded, plan, gpx=gpx, geojson=geojson, picture=picture, grid=grid)
    detection = None
    if chance or chance_map:
        from coldfield.app.strips.detection import detection_answer, draw_chances, passes

        heard = passes(loaded, plan, searchers=searchers, grid=grid)
        detection = detection_answer(heard)
        if chance_map:
            draw_chances(loaded, plan, heard.first, chance_map, grid=grid)
    choices = compare_widths(loaded, widths, searchers=searchers, grid=grid) if widths else None
    answer = strips_answer(plan, detection=detection, widths=choices)
    if as_json:
        click.echo(json_text(answer))
    else:
        _print(answer)


def _print(answer: StripsAnswer) -> None:
    click.echo(
        f"strips {answer.strip_width_m:.1f} m wide, heading {round(answer.heading_deg)} deg, "
        f"{answer.sharing}: all done in {_time(answer.seconds)}; "
        f"no plan can beat {_time(answer.seconds_lower_bound)}"
    )
    for lane in answer.lanes:
        start = ", ".join(f"{v:.0f}" for v in lane.line_m[0])
        click.echo(f"  {lane.searcher}: {lane.length_m:.0f} m, {_time(lane.seconds)}, starts at ({start})")
    click.echo(f"covered: {100 * answer.covered_fraction:.4g} % of the ground")
    if answer.detection is not None:
        once, twice = answer.detection, answer.detection.second_pass
        for words, chance in (("one pass", once), (f"a second at {twice.strip_width_m:.1f} m", twice)):
            east, north = chance.least_heard_m
            click.echo(
                f"a set is heard after {words}: {chance.mean_probability:.3f} on average, "
                f"{chance.least_probability:.2f} at ({east:.0f}, {north:.0f})"
            )
    for row in answer.widths or ():
        click.echo(
            f"strips of {row.strip_width_m:.0f} m: done in {_time(row.seconds)}, a set is heard with "
            f"{row.mean_probability:.3f} on average and {row.worst_point_probability:.3f} at worst; "
            f"of one person {row.expected_survival:.3f} survives"
        )
    for note in answer.notes:
        click.echo(f"note: {note}")


def _time(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"
