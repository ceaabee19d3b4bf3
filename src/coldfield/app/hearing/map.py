"""The hearing map of a drill, which the browser requests many times a second."""

from __future__ import annotations

from collections.abc import Collection
from functools import lru_cache

import numpy as np

from coldfield.beacon.hearing import sources_of
from coldfield.beacon.hearing_grid import hearing_grid
from coldfield.beacon.hearing_plain import plain_hearing_grid
from coldfield.beacon.receiver import shows_line, threshold_a_per_m
from coldfield.drill import Drill, Receiver, Searcher, Transmitter
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput, UnknownRecord
from coldfield.files.hearing_bytes import DIRECTION_STEPS, MARGIN_STEP_DB, READING_STEP_M, pack_hearing
from coldfield.message import message
from coldfield.search.width.lateral_range import Pair
from coldfield.search.width.strip_width import weakest_of

MOST_LINES = 200
"""Lines of the map along the longer side of the ground. Setting."""

PLAIN_LINES = 60
"""The most lines while the loops are not compiled yet. Setting."""


def hearing_map_bytes(
    drill: Drill,
    *,
    searcher: str | None = None,
    burials: Collection[str] | None = None,
    lines: int = MOST_LINES,
    margin_m: float = 10.0,
    height_m: float | None = None,
    heading_rad: float = 0.0,
    plain: bool = False,
) -> bytes:
    """Return what a receiver hears over a drill's ground, packed as `pack_hearing` says.

    Parameters
    ----------
    drill : Drill
        Site, burials, searchers and conditions.
    searcher : str, optional
        Id or name; by default the one with the weakest receiver of the group.
    burials : collection of str, optional
        The sets to return; all sets count for how low the receiver is carried.
    lines : int
        Lines of the grid along the longer side, 2 to 200; cells are square, in plan.
    margin_m : float
        How far the map extends beyond the boundary, m.
    height_m : float, optional
        Height of the receiver above the snow; default: as carried for the lowest reading there.
    heading_rad : float
        Azimuth in which the receiver points; matters with one antenna.
    plain : bool
        Without compiled loops: at most `PLAIN_LINES` lines, and the weakest receiver is the one with the
        shortest coaxial range, whatever its antennas. The header says so.

    Raises
    ------
    UnknownRecord
        If there is no such searcher or burial.
    BadInput
        If `lines` or `margin_m` is out of its range.
    OutOfModel
        If the height is out of its range.
    """
    if not (2 <= lines <= MOST_LINES and 0.0 <= margin_m <= 200.0):
        raise BadInput(message("fault.map_lines", most=MOST_LINES))
    unknown = sorted(set(burials or ()) - {burial.id for burial in drill.burials})
    if unknown:
        raise UnknownRecord(message("fault.no_burial", name=unknown[0]))
    weakest = shortest_in_line if plain else weakest_hearer
    who = drill.searcher(searcher) if searcher else weakest(drill)
    east, north = ground_lines(drill, min(lines, PLAIN_LINES) if plain else lines, margin_m)
    terrain = Plane.of(drill.site)
    grid = (plain_hearing_grid if plain else hearing_grid)(
        sources_of(drill.burials, terrain),
        who.receiver,
        terrain,
        east_m=east,
        north_m=north,
        heading_rad=heading_rad,
        noise_rise_db=drill.conditions.noise_rise_db,
        height_m=height_m,
        group=[one.receiver for one in drill.searchers],
        only=burials,
    )
    header = {
        "burials": grid.ids,
        "searcher": who.id,
        "searchers": len(drill.searchers),
        "columns": len(east),
        "rows": len(north),
        "west_m": float(east[0]),
        "south_m": float(north[0]),
        "step_m": float(east[1] - east[0]),
        "height_m": height_m,
        "reading_step_m": READING_STEP_M,
        "margin_step_db": MARGIN_STEP_DB,
        "direction_steps": DIRECTION_STEPS,
        "lines": shows_line(who.receiver),
        "plain": plain,
    }
    direction = grid.direction_rad if shows_line(who.receiver) else np.full_like(grid.direction_rad, np.nan)
    return pack_hearing(
        header,
        raw_reading_m=grid.raw_reading_m,
        signal=grid.signal,
        direction_rad=direction,
        heard_by=grid.heard_by,
    )


def weakest_hearer(drill: Drill) -> Searcher:
    """Return the searcher with the smallest edge width today; the first one if no set is hidden.

    Raises
    ------
    BadInput
        If nobody searches.
    """
    if not drill.searchers:
        raise BadInput(message("fault.no_receiver"))
    receivers = tuple(dict.fromkeys(one.receiver for one in drill.searchers))
    buried = {(t.field_at_10m_a_per_m, t.period_s) for b in drill.burials if (t := b.transmitter)}
    if not buried or len(receivers) == 1:
        return drill.searchers[0]
    senders = tuple(Transmitter(field_at_10m_a_per_m=f, period_s=p) for f, p in sorted(buried))
    weakest = _weakest(receivers, senders, drill.conditions.noise_rise_db)
    return next(one for one in drill.searchers if one.receiver == weakest)


def shortest_in_line(drill: Drill) -> Searcher:
    """Return the first searcher with the shortest coaxial range today.

    Raises
    ------
    BadInput
        If nobody searches.
    """
    if not drill.searchers:
        raise BadInput(message("fault.no_receiver"))
    noise = drill.conditions.noise_rise_db
    return max(drill.searchers, key=lambda one: threshold_a_per_m(one.receiver, noise))


@lru_cache(maxsize=64)
def _weakest(
    receivers: tuple[Receiver, ...], senders: tuple[Transmitter, ...], noise_rise_db: float
) -> Receiver:
    """Return the weakest receiver; cached, since it takes half a second and dragging does not change it."""
    pairs = [
        Pair(receiver=receiver, transmitter=sender, noise_rise_db=noise_rise_db)
        for receiver in receivers
        for sender in senders
    ]
    return weakest_of(pairs)[0].receiver


def ground_lines(drill: Drill, lines: int, margin_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Return east and north lines, m, of a grid of square cells over the ground and its margin."""
    corners = np.array(drill.site.boundary_m)
    low, high = corners.min(axis=0) - margin_m, corners.max(axis=0) + margin_m
    step = float((high - low).max()) / (lines - 1)
    counts = np.minimum(np.ceil((high - low) / step - 1e-9).astype(int) + 1, lines)
    east, north = (a + step * np.arange(n) for a, n in zip(low, counts, strict=True))
    return east, north
