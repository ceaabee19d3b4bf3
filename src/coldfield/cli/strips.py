"""Share the ground among the searchers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.message import Message, Quantity, duration, message, number

if TYPE_CHECKING:
    from coldfield.app.strips.answers import DetectionAnswer, LaneAnswer, SecondPassAnswer, StripsAnswer
    from coldfield.search.lanes.plan import Sharing
    from coldfield.search.width.choice import WidthChoice


@click.command("strips")
@click.argument("drill")
@click.option("--searchers", type=int, help="Number of searchers; default: all in the drill.")
@click.option(
    "--strip-width-m", type=float, help="Width on the snow; default: the drill's, otherwise the edge width."
)
@click.option(
    "--sharing",
    type=click.Choice(["least time", "own sectors", "line abreast"]),
    default="least time",
    show_default=True,
    help="How the ground is shared.",
)
@click.option(
    "--heading-deg",
    type=float,
    help="Direction of all lanes, degrees from true north; default: the drill's, otherwise the fastest.",
)
@click.option("--elevation", help="Elevation grid under the ground; default: the drill's even slope.")
@click.option("--crs", help="The grid's coordinate system, if its file does not give it.")
@click.option("--gpx", help="Write the lanes as GPX, one track per searcher.")
@click.option("--geojson", help="Write the lanes as GeoJSON.")
@click.option("--map", "picture", help="Draw the plan, .svg or .png.")
@click.option(
    "--chance", is_flag=True, help="Also show how likely a set is heard anywhere, with one pass and with two."
)
@click.option("--chance-map", help="Draw that chance, .svg or .png.")
@click.option(
    "--compare",
    "widths",
    type=float,
    multiple=True,
    help="Also show what this width gains and risks; can be repeated.",
)
@click.option("--gone", help="This searcher drops out; share the remaining ground.")
@click.option("--after-s", type=float, default=0.0, show_default=True, help="When they drop out, s.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    searchers: int | None,
    strip_width_m: float | None,
    sharing: Sharing,
    heading_deg: float | None,
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

    Each place of the ground lies within half a strip width of a lane, measured on the snow. The
    time counts from the entry; beside it is a time that no plan can beat.
    """
    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.ground.grid import load_grid
    from coldfield.app.strips.lanes import (
        compare_widths,
        lanes_for,
        lanes_without,
        strips_answer,
        with_heading,
        write_lanes,
    )

    loaded = load_drill(drill, on_earth=bool(gpx or geojson))
    grid = load_grid(elevation, loaded, crs=crs) if elevation else None
    loaded = with_heading(loaded, heading_deg)
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
    click.echo(json_text(answer) if as_json else in_lines(_lines(answer)))


def _lines(answer: StripsAnswer) -> list[Message]:
    from coldfield.pictures.lane_plan import SHARING

    lines = [
        message(
            "command.strips.plan",
            width=number(answer.strip_width_m, 1),
            heading=number(answer.heading_deg, 0),
            sharing=SHARING[answer.sharing],
            time=duration(answer.seconds),
            bound=duration(answer.seconds_lower_bound),
        ),
        *(_lane(lane) for lane in answer.lanes),
        message("command.strips.covered", share=number(float(f"{100 * answer.covered_fraction:.4g}"))),
    ]
    if answer.detection is not None:
        lines += _heard(answer.detection)
    lines += [_width(row) for row in answer.widths or ()]
    return [*lines, *(message("command.note_line", note=note) for note in answer.notes)]


def _lane(lane: LaneAnswer) -> Message:
    east, north = (number(v, 0) for v in lane.line_m[0])
    length, time = number(lane.length_m, 0), duration(lane.seconds)
    return message(
        "command.strips.lane", name=lane.searcher, length=length, time=time, east=east, north=north
    )


def _heard(detection: DetectionAnswer) -> list[Message]:
    once, twice = detection, detection.second_pass
    width = number(twice.strip_width_m, 1)
    return [
        message("command.strips.heard_once", **_chances(once)),
        message("command.strips.heard_twice", width=width, **_chances(twice)),
    ]


def _chances(chance: DetectionAnswer | SecondPassAnswer) -> dict[str, Quantity]:
    east, north = (number(v, 0) for v in chance.least_heard_m)
    mean, least = number(chance.mean_probability, 3), number(chance.least_probability, 2)
    return {"mean": mean, "least": least, "east": east, "north": north}


def _width(row: WidthChoice) -> Message:
    return message(
        "command.strips.width",
        width=number(row.strip_width_m, 0),
        time=duration(row.seconds),
        mean=number(row.mean_probability, 3),
        worst=number(row.worst_point_probability, 3),
        survival=number(row.expected_survival, 3),
    )
