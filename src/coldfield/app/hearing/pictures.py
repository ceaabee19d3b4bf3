"""Pictures of hearing and strip width, written to files."""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from coldfield.app.drills.picture_files import picture_kind, write_picture
from coldfield.app.hearing.neighbours import laid_over
from coldfield.app.strips.lanes import lanes_for
from coldfield.app.strips.width import StripWidths
from coldfield.beacon.fluxline import ENDS, walked_flux_line
from coldfield.beacon.hearing import SnowSurface, Sources, hear, sources_of
from coldfield.beacon.hearing_grid import HearingGrid, audible_outline, hearing_grid
from coldfield.drill import Drill, Searcher
from coldfield.drill.terrain import Plane
from coldfield.message import Message, message, number
from coldfield.search.width.strip_width import group_pairs, weakest_of
from coldfield.words import say, word

if TYPE_CHECKING:
    from coldfield.pictures.style import Theme

MAP_LINES = 181
FLUX_STARTS = 10
"""Walked flux lines drawn for each set, from evenly spaced points on its outline of hearing."""


def weakest_searcher(drill: Drill) -> Searcher:
    """Return the searcher whose receiver has the smallest edge width, including today's noise.

    Raises
    ------
    OutOfModel
        If nobody searches or no burial has a set.
    """
    pair, _width = weakest_of(group_pairs(drill))
    return next(s for s in drill.searchers if s.receiver == pair.receiver)


def write_hearing_map(
    drill: Drill,
    path: str,
    *,
    searcher: str | None = None,
    neighbour: Drill | None = None,
    with_lanes: bool = False,
    theme: Theme = "light",
) -> list[Message]:
    """Write the hearing map of the weakest receiver, or of one searcher's; return its warnings.

    Parameters
    ----------
    drill : Drill
        The drill to map.
    path : str
        Ends in .svg or .png.
    searcher : str, optional
        Id or name; by default the one with the weakest receiver.
    neighbour : Drill, optional
        Another drill nearby; its sets that are heard on this ground are named.
    with_lanes : bool
        Draw the drill's lane plan into the map.
    theme : {"light", "dark"}
        Light for paper, dark for a projector in a dark room.

    Raises
    ------
    BadInput
        If the file's format is unknown, or the file cannot be written.
    """
    from coldfield.pictures.hearing_map import hearing_map

    picture_kind(path)  # before any work
    who = drill.searcher(searcher) if searcher else weakest_searcher(drill)
    terrain, sources = Plane.of(drill.site), sources_of(drill.burials, Plane.of(drill.site))
    grid = site_grid(drill, who, sources, terrain)
    lines = _flux_lines(drill, who, grid, sources, terrain)
    heard = neighbours_heard(drill, neighbour) if neighbour else []
    drawn = hearing_map(
        drill,
        grid,
        lines,
        title=word("picture.hearing_title", name=who.name, noise=number(drill.conditions.noise_rise_db)),
        lanes=[(lane.searcher, lane.line_m) for lane in lanes_for(drill).lanes] if with_lanes else [],
        neighbours=heard,
        theme=theme,
    )
    write_picture(path, lambda: drawn)
    return [neighbour_words(name) for name, _place in heard]


def neighbour_words(name: str) -> Message:
    """Return the warning about one set of another drill."""
    return message("picture.neighbour_heard", name=name)


def site_grid(
    drill: Drill, who: Searcher, sources: Sources, terrain: SnowSurface, lines: int = MAP_LINES
) -> HearingGrid:
    """Return what a searcher hears over the site and a margin of a tenth around it."""
    corners = np.array(drill.site.boundary_m)
    low, high = corners.min(axis=0), corners.max(axis=0)
    pad = 0.1 * float((high - low).max())
    return hearing_grid(
        sources,
        who.receiver,
        terrain,
        east_m=np.linspace(low[0] - pad, high[0] + pad, lines),
        north_m=np.linspace(low[1] - pad, high[1] + pad, lines),
        noise_rise_db=drill.conditions.noise_rise_db,
    )


def neighbours_heard(drill: Drill, other: Drill) -> list[tuple[str, tuple[float, float]]]:
    """Return the sets of another drill that searchers of this one hear on its ground, with their place.

    The two origins align both sites. Places of the other drill are converted to this plan; depths and
    directions stay as they are.
    """
    terrain = Plane.of(drill.site)
    sources = sources_of(laid_over(drill, other), terrain)
    if not sources.ids:
        return []
    ground = terrain.at(_places_on(drill), 1.0)
    heard = np.zeros(len(sources.ids), dtype=np.bool_)
    for searcher in drill.searchers:
        for heading in (0.0, 0.5 * np.pi):
            audible = hear(
                sources,
                searcher.receiver,
                ground,
                heading_rad=heading,
                noise_rise_db=drill.conditions.noise_rise_db,
            ).audible
            heard |= audible.any(axis=0)
    return [
        (name, (float(point[0]), float(point[1])))
        for name, point, yes in zip(sources.ids, sources.point_m, heard, strict=True)
        if yes
    ]


def _places_on(drill: Drill) -> NDArray[np.float64]:
    """Return places on the ground, 40 x 40 over its extent and its corners."""
    from shapely import Polygon, contains_xy

    corners = np.array(drill.site.boundary_m)
    lines = [np.linspace(corners[:, k].min(), corners[:, k].max(), 40) for k in (0, 1)]
    place = np.stack(np.meshgrid(*lines), axis=-1).reshape(-1, 2)
    return np.concatenate([corners, place[contains_xy(Polygon(corners), place)]])


def _flux_lines(
    drill: Drill, who: Searcher, grid: HearingGrid, sources: Sources, terrain: Plane
) -> list[NDArray[np.float64]]:
    lines = []
    for index in range(len(sources.ids)):
        outline = audible_outline(grid, index)
        if not outline:
            continue
        longest = max(outline, key=len)
        centre = sources.point_m[index, :2]
        for start in longest[:: max(len(longest) // FLUX_STARTS, 1)][:FLUX_STARTS]:
            inwards = centre + 0.93 * (start - centre)
            walk = walked_flux_line(
                sources,
                index,
                terrain,
                inwards,
                who.receiver,
                noise_rise_db=drill.conditions.noise_rise_db,
            )
            if len(walk.line_m) > 1 and walk.ended in ENDS[:2]:
                lines.append(walk.line_m)
    return lines


def write_strip_width_chart(result: StripWidths, path: str) -> None:
    """Write the charts of lateral range and of expected survival against width."""
    from coldfield.pictures.strip_charts import strip_width_chart

    picture_kind(path)  # before any work
    scenario = result.question.scenario
    worst = result.directions[-1]
    drawn = strip_width_chart(
        result.curve,
        result.timed,
        edge_width_m=result.edge_width_m,
        sweep_width_m=result.sweep_width_m,
        pod=result.question.pod,
        worst_words=word("picture.hardest", tilt=number(degrees(worst.tilt_rad), 0)),
        scenario_words=word(
            "picture.scenario", searchers=scenario.searchers, area=number(scenario.area_m2 / 1e4)
        ),
    )
    write_picture(path, lambda: drawn)


def write_fine_search_chart(depth_m: float, tilt_rad: float, path: str) -> None:
    """Write the readings along both axes over a burial, for receivers with three, two and one antennas."""
    from coldfield.drill import Receiver
    from coldfield.drill.searcher import DEFAULT_ANTENNA_FACTORS
    from coldfield.pictures.strip_charts import fine_search_chart
    from coldfield.search.pinpointing.fine_search import BuriedSet, cross_readings, lowest_place, probe_words

    picture_kind(path)  # before any work
    buried = BuriedSet(depth_m=depth_m, tilt_rad=tilt_rad)
    rows = []
    words = ""
    kinds = (
        (3, message("picture.three_antennas")),
        (2, message("picture.two_antennas")),
        (1, message("picture.one_antenna")),
    )
    for antennas, kind in kinds:
        receiver = Receiver(
            coaxial_range_m=45.0, antennas=antennas, antenna_factors=DEFAULT_ANTENNA_FACTORS[antennas]
        )
        rows.append((say(kind), *cross_readings(buried, receiver)))
        if antennas == 3:
            words = say(probe_words(lowest_place(buried, receiver)))
    title = word("picture.fine_title", depth=number(depth_m), tilt=number(degrees(tilt_rad), 0))
    write_picture(path, lambda: fine_search_chart(rows, title=f"{title}\n{words}"))
