"""Chance that a set at each place of the ground is heard at least once from the walked lanes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon import envelope_detection
from coldfield.beacon.field import WAVENUMBER_PER_M, moment_am2
from coldfield.beacon.receiver import antenna_factors, threshold_a_per_m
from coldfield.drill.drill import Drill
from coldfield.drill.grid import Terrain
from coldfield.drill.searcher import Searcher
from coldfield.drill.terrain import Plane
from coldfield.errors import OutOfModel
from coldfield.message import message
from coldfield.search.lanes.places import ground_places
from coldfield.search.lanes.plan import Lane
from coldfield.search.width.lateral_range import LANE_HEIGHT_M, Pair, burial_samples

BURIALS = 64
_MOST_PLACES = 1500
_PHASES = 4
_REACH_FACTOR = 1.6
"""Beyond this many ranges on the axis, fewer than one pulse in two hundred is detected."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Detection:
    """Chance of being heard at least once, for places of the ground.

    `place_m` (n, 2) is in plan, `probability` (n,) the chance at each place. Then come the mean
    over the ground, and the place with the lowest chance and that chance. `miss` (n, burials) is
    the chance that each sampled burial stays unheard.
    """

    place_m: Floats
    spacing_m: float
    probability: Floats
    mean_probability: float
    least_m: tuple[float, float]
    least_probability: float
    miss: Floats

    def with_second(self, other: Detection) -> Detection:
        """Return the chances after both passes, for the same burials at the same places.

        A set that is hard to hear on the first pass is hard to hear on the second too. The two
        chances are not independent, so they are multiplied burial by burial.
        """
        if self.miss.shape != other.miss.shape:
            raise ValueError("both passes must be judged on the same places and burials")
        return _detection(self.place_m, self.spacing_m, self.miss * other.miss)


def detection(
    drill: Drill, lanes: Sequence[Lane], *, terrain: Terrain | None = None, most: int = _MOST_PLACES
) -> Detection:
    """Return the chance that a set at each place of a drill's ground is heard at least once.

    Parameters
    ----------
    drill : Drill
        Its ground, receivers and noise; its weakest transmitter is assumed at every place.
    lanes : sequence of Lane
        Who walks where. A searcher who is not in the drill counts as the drill's last one.
    terrain : Plane or Grid, optional
        The snow; default: the drill's even slope.
    most : int
        Approximate number of places.

    Raises
    ------
    OutOfModel
        If no burial of the drill has a set, or there are no lanes.

    Notes
    -----
    Chance mode: Rice detectors, heard when 2 of 3 successive pulses are detected (see
    `coldfield.beacon.envelope_detection`). Each place is tested with 64 burials that have isotropic
    directions, lognormal depths and pulse phases in quarters of a period. The receiver is level,
    1.0 m above the snow. Each set is considered on its own; overlapping pulses, the ground and
    turning the set about are left out. The number of burials gives a standard error of at most
    about 0.02 for one place; the mean over all places is much more exact.
    """
    from coldfield.search.detection.kernel import multiply_misses

    snow = terrain or Plane.of(drill.site)
    buried = [b.transmitter for b in drill.burials if b.transmitter is not None]
    if not buried or not lanes:
        raise OutOfModel(message("fault.detection_needs"))
    weakest = min(buried, key=lambda t: (t.field_at_10m_a_per_m, t.period_s))
    place, spacing = ground_places(drill.site, most)
    miss = np.ones((len(place), BURIALS))
    for lane in lanes:
        who = _searcher(drill, lane.searcher)
        pair = Pair(receiver=who.receiver, transmitter=weakest, noise_rise_db=drill.conditions.noise_rise_db)
        burials = burial_samples(pair, BURIALS)
        step = who.skill.signal_speed_m_s * weakest.period_s / _PHASES
        carried, ahead = _carried(lane.line_m, snow, step)
        multiply_misses(
            np.ascontiguousarray(snow.at(place)),
            np.ascontiguousarray(-snow.normal(place)),
            _whole_sphere(burials.axis),
            burials.depth_m,
            np.floor(burials.phase * _PHASES).astype(np.int64),
            carried,
            ahead,
            _PHASES,
            _weights(who),
            _day(pair, step),
            envelope_detection.probability_table(who.receiver.antennas),
            miss,
        )
    return _detection(place, spacing, miss)


def _detection(place: Floats, spacing_m: float, miss: Floats) -> Detection:
    probability = 1.0 - miss.mean(axis=1)
    least = int(np.argmin(probability))
    return Detection(
        place_m=place,
        spacing_m=spacing_m,
        probability=probability,
        mean_probability=float(probability.mean()),
        least_m=(float(place[least, 0]), float(place[least, 1])),
        least_probability=float(probability[least]),
        miss=miss,
    )


def _searcher(drill: Drill, who: str) -> Searcher:
    return next((s for s in drill.searchers if s.id == who), drill.searchers[-1])


def _carried(line_m: Floats, snow: Terrain, step_m: float) -> tuple[Floats, Floats]:
    """Return places of the receiver every `step_m` on the snow, (p, 3), and its heading there, (p, 2)."""
    corners = snow.steps(line_m)
    space = np.column_stack([corners, snow.height_m(corners)])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(space, axis=0), axis=1))])
    at = np.arange(0.0, along[-1] + 1e-9, step_m)
    plan = np.stack([np.interp(at, along, corners[:, k]) for k in (0, 1)], axis=-1)
    leg = np.clip(np.searchsorted(along, at, side="right") - 1, 0, len(corners) - 2)
    forward = np.diff(corners, axis=0)[leg]
    return np.ascontiguousarray(snow.at(plan, np.full(len(plan), LANE_HEIGHT_M))), np.ascontiguousarray(
        forward / np.linalg.norm(forward, axis=1, keepdims=True)
    )


def _whole_sphere(axis: Floats) -> Floats:
    """Return the axes, which fill a quarter of the sphere, spread over the whole of it by reflection."""
    turned = axis.copy()
    turned[1::4, 0] *= -1.0
    turned[2::4, 1] *= -1.0
    turned[3::4, :2] *= -1.0
    return np.ascontiguousarray(turned)


def _weights(who: Searcher) -> Floats:
    factors = antenna_factors(who.receiver)
    if who.receiver.turning:
        factors = np.sort(factors)
    weight = np.zeros(3)
    weight[: len(factors)] = 1.0 / factors
    return weight


def _day(pair: Pair, step_m: float) -> Floats:
    threshold = threshold_a_per_m(pair.receiver, pair.noise_rise_db)
    noise = envelope_detection.noise_a_per_m(threshold, pair.receiver.antennas)
    moment = float(moment_am2(pair.transmitter.field_at_10m_a_per_m))
    reach = _REACH_FACTOR * pair.coaxial_range_m()
    turning = 1.0 if pair.receiver.turning else 0.0
    return np.array([noise / moment, reach, WAVENUMBER_PER_M, envelope_detection.TABLE_STEP, step_m, turning])
