"""Lateral range: the chance of hearing a set from a lane, against its distance from the lane."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon.field import (
    axial_field_a_per_m,
    broadside_field_a_per_m,
    moment_am2,
)
from coldfield.beacon.formulas import FAR_HEIGHT_M
from coldfield.beacon.receiver import FARTHEST_M, NEAREST_M, hearing_weights, threshold_a_per_m
from coldfield.drill import Receiver, Transmitter
from coldfield.errors import OutOfModel
from coldfield.message import message, number

MEDIAN_DEPTH_M = 0.8
"""Median burial depth, Switzerland (second-hand: Haegeli et al. 2011, CMAJ 183:789-795)."""

DEPTH_SIGMA = 0.5
"""Spread of the logarithm of the depth. Setting."""

LANE_SPEED_M_S = 1.2
"""Walking speed along a lane. Setting."""

LANE_HEIGHT_M = FAR_HEIGHT_M
"""Height of the set above the snow during signal search. Common practice, no source."""

REPLICATES = 8
SAMPLES = 8 * 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One receiver and one transmitter on one day, and the burials for which they are tested.

    Of `transmitter` only strength and period are used; its direction is isotropic and its depth
    lognormal about `median_depth_m`.
    """

    receiver: Receiver
    transmitter: Transmitter
    noise_rise_db: float = 0.0
    median_depth_m: float = MEDIAN_DEPTH_M
    depth_sigma: float = DEPTH_SIGMA
    lane_speed_m_s: float = LANE_SPEED_M_S
    height_m: float = LANE_HEIGHT_M

    def moment_am2(self) -> float:
        """Return the transmitter's moment, A m2."""
        return float(moment_am2(self.transmitter.field_at_10m_a_per_m))

    def threshold_a_per_m(self) -> float:
        """Return today's threshold, A/m."""
        return threshold_a_per_m(self.receiver, self.noise_rise_db)

    def pulse_spacing_m(self) -> float:
        """Return how far the searcher walks between two pulses, m."""
        return self.lane_speed_m_s * self.transmitter.period_s

    def coaxial_range_m(self) -> float:
        """Return today's range on the axis, m."""
        return _range_m(self, axial_field_a_per_m)

    def coplanar_range_m(self) -> float:
        """Return today's range across the axis with the best antennas parallel, m."""
        return _range_m(self, broadside_field_a_per_m)

    def quiet(self) -> Pair:
        """Return the same pair without today's noise."""
        return replace(self, noise_rise_db=0.0)


@lru_cache(maxsize=256)
def _range_m(pair: Pair, field_of: Callable[[float, float], NDArray[np.float64]]) -> float:
    moment, threshold = pair.moment_am2(), pair.threshold_a_per_m()
    low, high = np.log(NEAREST_M), np.log(FARTHEST_M)
    if field_of(moment, FARTHEST_M) > threshold:
        raise OutOfModel(message("fault.pair_too_far", most=number(FARTHEST_M, 0)))
    if field_of(moment, NEAREST_M) < threshold:
        raise OutOfModel(message("fault.pair_too_near", least=number(NEAREST_M)))
    for _ in range(60):  # halves the logarithm's interval: exact to the last digit
        middle = 0.5 * (low + high)
        low, high = (middle, high) if field_of(moment, float(np.exp(middle))) >= threshold else (low, middle)
    return float(np.exp(0.5 * (low + high)))


@dataclass(frozen=True, eq=False)
class Samples:
    """Burials to test a lane with: unit axes (n, 3), depths (n,), m, pulse phases (n,), 0 to 1.

    Axes: x across the lane, y along it, z up. Each block of n / REPLICATES is a complete sample.
    """

    axis: NDArray[np.float64]
    depth_m: NDArray[np.float64]
    phase: NDArray[np.float64]


@lru_cache(maxsize=8)
def unit_samples(
    samples: int = SAMPLES,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return isotropic axes (n, 3), standard normal deviates (n,) and phases (n,) that fill their space.

    They come from an additive, even sequence in four dimensions with the steps of the generalised golden
    ratio. It has REPLICATES blocks, each with its own shift; their scatter gives the error of an average.
    Axes fill a quarter of the sphere; the rest follows by reversing the axis and by reflection along the
    lane.

    References
    ----------
    .. [1] H. Niederreiter, *Random Number Generation and Quasi-Monte Carlo Methods*, SIAM 1992,
       ch. 3, for additive (Kronecker) sequences (from memory).
    """
    from scipy.special import ndtri

    golden = 1.0
    for _ in range(60):
        golden = (1.0 + golden) ** (1.0 / 5.0)
    steps = golden ** -np.arange(1.0, 5.0)
    block = samples // REPLICATES
    shift = np.random.Generator(np.random.Philox(457)).random((REPLICATES, 1, 4))
    points = np.mod(shift + np.arange(block)[None, :, None] * steps, 1.0).reshape(-1, 4)
    up, azimuth = points[:, 0], pi * (points[:, 1] - 0.5)
    level = np.sqrt(1.0 - up**2)
    axis = np.stack([level * np.sin(azimuth), level * np.cos(azimuth), up], axis=-1)
    deviate = ndtri(np.clip(points[:, 2], 1e-12, 1.0 - 1e-12))
    for array in (axis, deviate, points):
        array.setflags(write=False)
    return axis, deviate, points[:, 3]


def burial_samples(pair: Pair, samples: int = SAMPLES) -> Samples:
    """Return isotropic directions, lognormal depths and random pulse phases for a pair."""
    axis, deviate, phase = unit_samples(samples)
    return Samples(axis, pair.median_depth_m * np.exp(pair.depth_sigma * deviate), phase)


def heard_table(pair: Pair, distance_m: ArrayLike, burials: Samples) -> NDArray[np.bool_]:
    """Return whether each burial is heard from a lane at each distance: shape (samples, distances).

    Parameters
    ----------
    pair : Pair
        Receiver, transmitter and the day's noise.
    distance_m : array_like, shape (k,)
        Lateral distance of the burial from the lane, on the snow, m.
    burials : Samples
        Directions, depths and phases.

    Notes
    -----
    The lane is straight, long and level; the set is held level 1.0 m above the snow, with its first
    antenna along the lane. The place of a pulse is where the searcher is in the middle of it. A
    burial is heard if at least one pulse anywhere along the lane reaches the threshold (definite
    mode).
    """
    from coldfield.search.width.lateral_kernel import fill_table

    lateral = np.ascontiguousarray(np.atleast_1d(np.asarray(distance_m, dtype=np.float64)))
    out = np.empty((len(burials.axis), len(lateral)), dtype=np.bool_)
    up = burials.depth_m + pair.height_m
    fill_table(lateral, burials.axis, up, burials.phase, _day(pair), hearing_weights(pair.receiver), out)
    return out


def heard_share(pair: Pair, distance_m: float, burials: Samples) -> tuple[float, float]:
    """Return the chance of being heard from a lane at one distance, and its standard error."""
    from coldfield.search.width.lateral_kernel import count_heard

    counts = np.zeros(REPLICATES, dtype=np.int64)
    up = burials.depth_m + pair.height_m
    day, weights = _day(pair), hearing_weights(pair.receiver)
    count_heard(float(distance_m), burials.axis, up, burials.phase, day, weights, counts)
    shares = counts * (REPLICATES / len(burials.axis))
    return float(shares.mean()), float(shares.std(ddof=1) / np.sqrt(REPLICATES))


def _day(pair: Pair) -> NDArray[np.float64]:
    """Return what all samples share, in the order of `lateral_kernel`."""
    level = (pair.threshold_a_per_m() / pair.moment_am2()) ** 2
    return np.array([pair.pulse_spacing_m(), pair.coaxial_range_m(), level])


CURVE_POINTS = 65
CURVE_SAMPLES = 8192


@dataclass(frozen=True, eq=False)
class LateralCurve:
    """Chance of being heard from a lane against the distance from it, and each burial's reach.

    `distance_m`, `probability` and `standard_error` (k,) go from the lane to the range on the axis;
    nothing is heard beyond it. `reach_m` (n,) is the distance up to which each sampled burial is heard.
    """

    distance_m: NDArray[np.float64]
    probability: NDArray[np.float64]
    standard_error: NDArray[np.float64]
    reach_m: NDArray[np.float64]


def lateral_curve(pair: Pair, *, samples: int = CURVE_SAMPLES) -> LateralCurve:
    """Return the lateral range curve of a pair.

    Notes
    -----
    There are 65 distances with linear interpolation; the standard error of a chance is at most
    0.001. A burial that is heard at some distance but not nearer (about one in a thousand, with one
    antenna) counts with the length over which it is heard.
    """
    distance = np.linspace(0.0, pair.coaxial_range_m(), CURVE_POINTS)
    heard = heard_table(pair, distance, burial_samples(pair, samples)).astype(np.float64)
    blocks = heard.reshape(REPLICATES, -1, CURVE_POINTS).mean(axis=1)
    return LateralCurve(
        distance,
        blocks.mean(axis=0),
        np.asarray(np.sqrt(blocks.var(axis=0, ddof=1) / REPLICATES)),
        np.asarray(np.trapezoid(heard, distance, axis=1)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionChance:
    """How likely a transmitter in one direction is heard: `azimuth_rad` from the lane, tilt upwards."""

    words: str
    azimuth_rad: float
    tilt_rad: float
    probability: float


def direction_chances(pair: Pair, distance_m: float) -> list[DirectionChance]:
    """Return the chance at one distance for an upright set, one along the lane, one across it, and
    the worst one.

    The worst is found among 300 directions, each with 256 depths and phases. If several are equally bad,
    the one nearest to their mean is returned.
    """
    _axis, deviate, phase = unit_samples(8 * 32)
    depth = pair.median_depth_m * np.exp(pair.depth_sigma * deviate)
    named = [
        ("upright", 0.0, pi / 2),
        ("level, along the lane", 0.0, 0.0),
        ("level, across the lane", pi / 2, 0.0),
    ]
    golden = (np.arange(300) * 0.6180339887498949) % 1.0
    tilt = np.arcsin((np.arange(300) + 0.5) / 300)
    azimuth = pi * (golden - 0.5)
    azimuths = np.concatenate([[a for _, a, _ in named], azimuth])
    tilts = np.concatenate([[t for _, _, t in named], tilt])
    axis = np.stack(
        [np.cos(tilts) * np.sin(azimuths), np.cos(tilts) * np.cos(azimuths), np.sin(tilts)], axis=-1
    )
    many = Samples(np.repeat(axis, len(depth), axis=0), np.tile(depth, len(axis)), np.tile(phase, len(axis)))
    share = heard_table(pair, distance_m, many).reshape(len(axis), len(depth)).mean(axis=1)
    worst = np.flatnonzero(share == share.min())
    # An axis and its opposite are the same direction: average the dyads and take their main axis.
    main = np.linalg.eigh(np.einsum("ki,kj->ij", axis[worst], axis[worst]))[1][:, -1]
    pick = int(worst[np.argmax(np.abs(axis[worst] @ main))])
    rows = [*enumerate(words for words, _, _ in named), (pick, "worst of all")]
    return [
        DirectionChance(
            words=words,
            azimuth_rad=float(azimuths[k]),
            tilt_rad=float(tilts[k]),
            probability=float(share[k]),
        )
        for k, words in rows
    ]
