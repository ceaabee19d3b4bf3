"""Drills that could be laid out: burials on allowed ground, spread evenly over all possibilities.

A candidate is a point of a space-filling sequence (Sobol', scrambled; scipy.stats.qmc). It becomes places on
whole metres, depths in steps of 10 cm and directions in steps of 15 degrees, which people can lay out by
tape, shovel and eye. The number of burials, the sets, the ground and the group are those of the given drill.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import dist, hypot, pi, radians, sqrt
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from coldfield.drill import Antenna, Burial, Drill
from coldfield.drill.site import Point
from coldfield.errors import BadInput
from coldfield.message import message

Wish = Literal["close-pair", "overlap", "upright", "deep"]
WISHES: tuple[Wish, ...] = get_args(Wish)

TAPE_M, EDGE_M = 1.0, 2.0
"""Places lie on whole metres, at this distance from the edge and from holes. Settings."""

DEPTHS_M = (0.3, 1.5)
"""Depths at which practice sacks are buried, in steps of 10 cm. Settings."""

DEEP_M = (1.0, 1.8)
"""'deep': the depth of one burial. The deeper of two published medians of burial depth is 1.0 m (Haegeli et
al. 2011, CMAJ 183:789-795, second-hand: Canada); the other end is a setting."""

PROBE_LEFT_M = 0.4
"""How much longer the group's longest probe must be than the deepest burial is deep. Setting."""

CLOSE_M = (3.0, 10.0)
"""'close-pair': the distance between two burials. If they are closer, their holes meet. Setting;
'close' is less than 15 m in course notes (second-hand)."""

APART_M, APART_SHARE = 15.0, 0.25
"""Least distance between other burials; on small ground, as a share of its side. Settings."""

HEARD_TOGETHER_M = 20.0
"""'overlap': greatest distance between two sets, so that both are heard. Setting."""

LIKE_PERIODS_S = 0.01
"""'overlap': periods that differ by no more than this stay in step for many pulses. Setting."""

UPRIGHT_RAD = radians(90.0)
TILTS_RAD = tuple(radians(t) for t in (0.0, 15.0, 30.0, 45.0))
TURNS = 24
"""Number of directions of an antenna, 15 degrees apart."""


@dataclass(frozen=True, eq=False)
class Ground:
    """Where burials may lie: places (n, 2), m, ordered by column, and where each column begins."""

    places_m: NDArray[np.float64]
    apart_m: float

    def at(self, u: float, v: float) -> Point:
        """Return a place for two numbers from 0 to 1; even numbers give evenly spread places."""
        east = self.places_m[:, 0]
        column = east[min(int(u * len(east)), len(east) - 1)]
        rows = self.places_m[east == column]
        place = rows[min(int(v * len(rows)), len(rows) - 1)]
        return float(place[0]), float(place[1])


def allowed_ground(drill: Drill) -> Ground:
    """Return where burials may lie: on the ground, outside holes, away from edges.

    Raises
    ------
    BadInput
        If there is no such place.
    """
    import shapely

    whole: shapely.geometry.base.BaseGeometry = shapely.Polygon(drill.site.boundary_m)
    for hole in drill.site.holes_m:
        whole = whole.difference(shapely.Polygon(hole))
    for edge in (EDGE_M, 0.5 * EDGE_M, 0.25 * EDGE_M):
        inner = whole.buffer(-edge)
        low_e, low_n, high_e, high_n = whole.bounds
        step = TAPE_M * max(1.0, round(sqrt(whole.area) / 200.0))
        east = np.arange(np.ceil(low_e), high_e + 1e-9, step)
        north = np.arange(np.ceil(low_n), high_n + 1e-9, step)
        grid = np.array(np.meshgrid(east, north, indexing="ij")).reshape(2, -1).T
        inside = grid[shapely.contains_xy(inner, grid)] if not inner.is_empty else grid[:0]
        if len(inside) >= 4 * max(len(drill.burials), 1):
            side = sqrt(whole.area)
            return Ground(places_m=inside, apart_m=min(APART_M, APART_SHARE * side))
    raise BadInput(message("fault.propose_no_ground").at("site.boundary_m"))


def check_wishes(drill: Drill, wishes: Sequence[Wish]) -> None:
    """Raise an error for wishes that no drill of this kind can fulfil.

    Raises
    ------
    BadInput
        It lists each fault: no burials, no searchers, a pair wished with one burial, probes too short for
        a deep one.
    """
    faults = []
    if not drill.burials:
        faults.append(message("fault.rehearsal_needs_one").at("burials"))
    if not drill.searchers:
        faults.append(message("fault.rehearsal_needs_one").at("searchers"))
    sets = [b for b in drill.burials if b.transmitter is not None]
    faults += [
        message("fault.propose_pair", wish=wish).at("--wish")
        for wish in wishes
        if wish in ("close-pair", "overlap") and len(sets) < 2
    ]
    if "upright" in wishes and not sets:
        faults.append(message("fault.propose_upright").at("--wish"))
    if "deep" in wishes and _deepest(drill) < DEEP_M[0]:
        faults.append(message("fault.propose_deep").at("--wish"))
    if faults:
        raise BadInput(faults)


def _deepest(drill: Drill) -> float:
    probe = max((s.probe_length_m or 0.0 for s in drill.searchers), default=0.0)
    return probe - PROBE_LEFT_M if probe > 0.0 else DEEP_M[1]


def candidates(drill: Drill, wishes: Sequence[Wish], *, count: int, seed: int) -> list[Drill]:
    """Return different drills that fulfil all wishes and can be laid out; fewer on tight ground."""
    ground = allowed_ground(drill)
    found: dict[tuple[Burial, ...], Drill] = {}
    for row in _points(5 * len(drill.burials), seed=seed, most=64 * count):
        burials = _laid(drill, wishes, ground, row.reshape(len(drill.burials), 5))
        if burials is not None and burials not in found:
            found[burials] = replace(drill, burials=burials)
            if len(found) == count:
                break
    if not found:
        raise BadInput(message("fault.propose_too_tight").at("site.boundary_m"))
    return list(found.values())


def _points(dimensions: int, *, seed: int, most: int) -> Iterator[NDArray[np.float64]]:
    from scipy.stats import qmc

    sequence = qmc.Sobol(dimensions, scramble=True, rng=np.random.default_rng(seed))
    for _ in range(0, most, 256):
        yield from sequence.random(256)


def _laid(
    drill: Drill, wishes: Sequence[Wish], ground: Ground, row: NDArray[np.float64]
) -> tuple[Burial, ...] | None:
    """Return the burials for one point of the sequence, (burials, 5); None if they do not fit together."""
    sets = [k for k, b in enumerate(drill.burials) if b.transmitter is not None]
    burials = [_one(drill, b, ground, u) for b, u in zip(drill.burials, row, strict=True)]
    pair: tuple[int, int] | None = None
    if "close-pair" in wishes or "overlap" in wishes:
        pair = _pair(drill, sets) if "overlap" in wishes else (sets[0], sets[1])
        near = CLOSE_M if "close-pair" in wishes else (CLOSE_M[1], HEARD_TOGETHER_M)
        place = _beside(burials[pair[0]].position_m, ground, near, row[pair[1]])
        if place is None:
            return None
        burials[pair[1]] = replace(burials[pair[1]], position_m=place)
    if "overlap" in wishes and pair is not None:
        burials[pair[1]] = _in_step(burials[pair[0]], burials[pair[1]])
    if "deep" in wishes:
        k = int(row[0, 4] * len(burials)) % len(burials)
        burials[k] = replace(burials[k], depth_m=_depth(drill, row[k, 2], DEEP_M))
    if "upright" in wishes:
        k = sets[int(row[-1, 4] * len(sets)) % len(sets)]
        antenna = replace(burials[k].antenna, tilt_rad=UPRIGHT_RAD)
        burials[k] = replace(burials[k], antenna=antenna)
    return tuple(burials) if _apart(burials, ground, pair) else None


def _one(drill: Drill, burial: Burial, ground: Ground, u: NDArray[np.float64]) -> Burial:
    azimuth = 2.0 * pi * int(u[3] * TURNS) / TURNS
    tilt = TILTS_RAD[min(int(u[4] * len(TILTS_RAD)), len(TILTS_RAD) - 1)]
    return replace(
        burial,
        position_m=ground.at(float(u[0]), float(u[1])),
        depth_m=_depth(drill, float(u[2]), DEPTHS_M),
        antenna=Antenna(azimuth_rad=azimuth, tilt_rad=tilt),
        body_azimuth_rad=azimuth,
    )


def _depth(drill: Drill, u: float, between_m: tuple[float, float]) -> float:
    low, high = between_m[0], max(min(between_m[1], _deepest(drill)), between_m[0])
    return round(float(low + u * (high - low)), 1)


def _pair(drill: Drill, sets: Sequence[int]) -> tuple[int, int]:
    """Return the two sets with the most similar periods."""
    pairs = [(i, j) for n, i in enumerate(sets) for j in sets[n + 1 :]]
    return min(pairs, key=lambda pair: abs(_period(drill.burials[pair[0]]) - _period(drill.burials[pair[1]])))


def _period(burial: Burial) -> float:
    return 0.0 if burial.transmitter is None else burial.transmitter.period_s


def _beside(place: Point, ground: Ground, near: tuple[float, float], u: NDArray[np.float64]) -> Point | None:
    away = np.hypot(*(ground.places_m - np.array(place)).T)
    those = ground.places_m[(away >= near[0]) & (away <= near[1])]
    if not len(those):
        return None
    those = those[np.lexsort((those[:, 1], those[:, 0]))]
    chosen = those[min(int(((u[0] * 64.0) % 1.0) * len(those)), len(those) - 1)]
    return float(chosen[0]), float(chosen[1])


def _in_step(one: Burial, other: Burial) -> Burial:
    """Return the other burial with a set whose period is near the first one's, changed if necessary."""
    first, sent = one.transmitter, other.transmitter
    if first is None or sent is None or abs(first.period_s - sent.period_s) <= LIKE_PERIODS_S:
        return other
    period = round(first.period_s + LIKE_PERIODS_S / 2.0, 3)
    return replace(other, transmitter=replace(sent, period_s=period), set_label=None)


def _apart(burials: Sequence[Burial], ground: Ground, pair: tuple[int, int] | None) -> bool:
    for j, other in enumerate(burials):
        for i, one in enumerate(burials[:j]):
            away = dist(one.position_m, other.position_m)
            if pair is not None and {i, j} == set(pair):
                continue
            if away < ground.apart_m:
                return False
    return True


def difference(one: Drill, other: Drill) -> float:
    """Return how different two drills are: 1 for a move by half the ground's side, or for 0.5 m of depth."""
    east = [p[0] for p in one.site.boundary_m]
    north = [p[1] for p in one.site.boundary_m]
    side = max(0.5 * hypot(max(east) - min(east), max(north) - min(north)), 1.0)
    total = 0.0
    for a, b in zip(one.burials, other.burials, strict=True):
        total += dist(a.position_m, b.position_m) / side + abs(a.depth_m - b.depth_m) / 0.5
    return total / len(one.burials)


def deeper(drill: Drill, by: float, wishes: Sequence[Wish]) -> Drill:
    """Return a drill with every depth times a factor, within the limits; a deep burial stays deep."""
    deep = max(range(len(drill.burials)), key=lambda k: drill.burials[k].depth_m)
    changed = []
    for k, burial in enumerate(drill.burials):
        low, high = DEEP_M if "deep" in wishes and k == deep else DEPTHS_M
        high = max(min(high, _deepest(drill)), low)
        changed.append(replace(burial, depth_m=round(min(max(burial.depth_m * by, low), high), 1)))
    return replace(drill, burials=tuple(changed))
