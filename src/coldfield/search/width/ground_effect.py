"""How conducting ground under the snow would change ranges and the edge width."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.ground import GROUNDS, UP_M, free_parts, ground_parts
from coldfield.beacon.receiver import antenna_factors
from coldfield.search.width.lateral_range import Pair, unit_samples
from coldfield.search.width.timed_width import Scenario, timed_width

DIRECTIONS = 8 * 32
TABLE_REACH_M = 110.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundEffect:
    """Figures over one kind of ground as shares of those in free space; None: beyond the table.

    They are the ranges with both sets in line, side by side, and with the transmitter upright, and the
    three widths.
    """

    words: str
    in_line_share: float | None
    side_by_side_share: float | None
    upright_share: float | None
    edge_width_share: float | None
    timed_width_share: float | None
    sweep_width_share: float | None


def ground_effects(pair: Pair, pod: float, scenario: Scenario) -> list[GroundEffect]:
    """Return how each kind of ground would change a pair's ranges and widths.

    Notes
    -----
    The ground is level, the burial at a single depth of 0.8 m, 1.0 m above the ground, and the receiver
    1.0 m above the snow; pulses are assumed to be dense. Both widths of a share are computed in the same
    simple way, with 256 directions on a grid of 32 distances. Only their ratio is used; it is good to
    about 3 %.
    """
    free = _figures(pair, pod, scenario, None)
    rows = []
    for words in GROUNDS:
        over = _figures(pair, pod, scenario, words)
        shares = [None if a is None or not b else a / b for a, b in zip(over, free, strict=True)]
        in_line, side_by_side, upright, edge, timed, sweep = shares
        rows.append(
            GroundEffect(
                words=words,
                in_line_share=in_line,
                side_by_side_share=side_by_side,
                upright_share=upright,
                edge_width_share=edge,
                timed_width_share=timed,
                sweep_width_share=sweep,
            )
        )
    return rows


def _figures(pair: Pair, pod: float, scenario: Scenario, words: str | None) -> list[float | None]:
    """Return the ranges in line, side by side and upright, then edge, timed and sweep width, m."""
    level = pair.threshold_a_per_m() / pair.moment_am2()
    rho = np.geomspace(1.0, TABLE_REACH_M, 400)
    parts = free_parts(rho) if words is None else ground_parts(words, rho)
    factors = antenna_factors(pair.receiver)
    upright = factors[2] if len(factors) == 3 else np.inf
    scaled = [
        np.abs(parts["in line"]),
        np.abs(parts["side by side"]),
        np.abs(parts["upright"]) / upright,
    ]
    return [*(_last(rho, size, level) for size in scaled), *_widths(pair, pod, scenario, words, level)]


def _last(rho: NDArray[np.float64], size: NDArray[np.float64], level: float) -> float | None:
    """Return the first distance at which a part falls below the level for good; None: never, or at once."""
    heard = np.flatnonzero(size >= level)
    if len(heard) == 0 or heard[-1] == len(rho) - 1:
        return None
    k = heard[-1]
    share = np.log(size[k] / level) / np.log(size[k] / size[k + 1])
    return float(rho[k] * (rho[k + 1] / rho[k]) ** share)


def _widths(
    pair: Pair, pod: float, scenario: Scenario, words: str | None, level: float
) -> tuple[float | None, float | None, float | None]:
    far = min(1.5 * pair.coaxial_range_m(), 0.7 * TABLE_REACH_M)
    lateral = np.linspace(0.0, far, 33)
    ahead = np.linspace(-far, far, 41)
    axis = unit_samples(DIRECTIONS)[0]
    heard = np.array([_heard(pair, words, x, ahead, axis, level) for x in lateral]).astype(np.float64)
    chance = heard.mean(axis=1)
    edge = _crossing(lateral, chance, pod)
    if chance[-1] > 0.0 or chance[0] == 0.0:  # heard farther than the table reaches, or not at all
        return edge, None, None
    reach = np.asarray(np.trapezoid(heard, lateral, axis=0))
    return edge, timed_width(reach, scenario).best_m, 2.0 * float(np.trapezoid(chance, lateral))


def _crossing(lateral: NDArray[np.float64], chance: NDArray[np.float64], pod: float) -> float | None:
    """Return twice the first distance at which the chance falls below the wanted one."""
    below = np.flatnonzero(chance < pod)
    if len(below) == 0 or below[0] == 0:
        return None
    k = below[0]
    share = (chance[k - 1] - pod) / (chance[k - 1] - chance[k])
    return float(2.0 * (lateral[k - 1] + share * (lateral[k] - lateral[k - 1])))


def _heard(
    pair: Pair,
    words: str | None,
    lateral_m: float,
    ahead_m: NDArray[np.float64],
    axis: NDArray[np.float64],
    level: float,
) -> NDArray[np.bool_]:
    """Return which directions (n,) are heard anywhere on a lane at one lateral distance."""
    rho = np.maximum(np.hypot(lateral_m, ahead_m), 1.0)
    azimuth = np.arctan2(lateral_m, ahead_m)
    parts = free_parts(rho, UP_M) if words is None else ground_parts(words, rho)
    out, across = (
        np.stack(v) for v in ((np.sin(azimuth), np.cos(azimuth)), (np.cos(azimuth), -np.sin(azimuth)))
    )
    u_out, u_across = axis[:, :2] @ out, axis[:, :2] @ across
    up = axis[:, 2:]
    h_out = u_out * parts["in line"] + up * parts["upright to level"]
    h_across = u_across * parts["side by side"]
    h_up = up * parts["upright"] + u_out * parts["level to upright"]
    east, north = h_out * out[0] + h_across * across[0], h_out * out[1] + h_across * across[1]
    factors = antenna_factors(pair.receiver)
    if pair.receiver.turning:
        return _turned(east, north, h_up, np.sort(factors)) >= level
    seen = np.abs(north) ** 2 / factors[0] ** 2
    if len(factors) > 1:
        seen = seen + np.abs(east) ** 2 / factors[1] ** 2
    if len(factors) > 2:
        seen = seen + np.abs(h_up) ** 2 / factors[2] ** 2
    return np.asarray(np.sqrt(seen).max(axis=1) >= level)


def _turned(
    east: NDArray[np.complex128],
    north: NDArray[np.complex128],
    up: NDArray[np.complex128],
    factors: NDArray[np.float64],
) -> NDArray[np.float64]:
    size = np.abs(east) ** 2 + np.abs(north) ** 2 + np.abs(up) ** 2
    gap = np.abs(east**2 + north**2 + up**2)
    second = 0.0 if len(factors) == 1 else 0.5 * (size - gap) / factors[1] ** 2
    return np.asarray(np.sqrt(0.5 * (size + gap) / factors[0] ** 2 + second).max(axis=1))
