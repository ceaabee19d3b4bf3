"""The lines that a searcher walks when following the direction from a place of a drill."""

from __future__ import annotations

import numpy as np

from coldfield.app.answers import places
from coldfield.app.hearing.answers import FluxLineAnswer, FluxLinesAnswer
from coldfield.app.hearing.map import weakest_hearer
from coldfield.beacon.fluxline import FluxLine, walked_flux_line
from coldfield.beacon.hearing import sources_of
from coldfield.drill import Drill
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput, UnknownRecord
from coldfield.message import message

NOTES = (
    message("note.walk_in_free_space"),
    message("note.pointed_along"),
)


def flux_lines_from(
    drill: Drill, from_m: tuple[float, float], *, burial: str | None = None, searcher: str | None = None
) -> FluxLinesAnswer:
    """Return the walks along the direction from a place, to one burial or to each that is heard there.

    Parameters
    ----------
    drill : Drill
        Site, burials, searchers and conditions.
    from_m : (float, float)
        Where the walks start, in plan, m.
    burial : str, optional
        The set to follow; by default each one in turn.
    searcher : str, optional
        Id or name; by default the one with the weakest receiver.

    Raises
    ------
    UnknownRecord
        If there is no such searcher, or no such burial with a set.
    BadInput
        If the place is not finite.

    Notes
    -----
    Of the two ways along the line the better one is returned: one that ends at the burial is preferred, then
    the shorter.
    """
    if not np.isfinite(from_m).all():
        raise BadInput(message("fault.two_coordinates").at("from_m"))
    terrain = Plane.of(drill.site)
    sources = sources_of(drill.burials, terrain)
    if burial is not None and burial not in sources.ids:
        raise UnknownRecord(message("fault.no_burial_with_set", id=burial))
    who = drill.searcher(searcher) if searcher else weakest_hearer(drill)
    lines = []
    for index, name in enumerate(sources.ids):
        if burial in (None, name):
            walk = walked_flux_line(
                sources,
                index,
                terrain,
                from_m,
                who.receiver,
                noise_rise_db=drill.conditions.noise_rise_db,
                pace=who.skill,
            )
            lines.append(_described(name, walk, terrain))
    return FluxLinesAnswer(searcher=who.id, from_m=from_m, lines=tuple(lines), notes=NOTES)


def _described(burial: str, walk: FluxLine, terrain: Plane) -> FluxLineAnswer:
    straight = terrain.length_m(walk.line_m[[0, -1]])
    return FluxLineAnswer(
        burial=burial,
        line_m=places(walk.line_m.round(2)),
        reading_m=tuple(None if np.isnan(r) else float(r) for r in walk.reading_m),
        length_m=walk.length_m,
        straight_m=straight,
        ratio=walk.length_m / straight if straight > 0.0 else None,
        seconds=float(walk.walked_s[-1]),
        ended=walk.ended,
    )
