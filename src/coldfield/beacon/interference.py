"""Interference: today's threshold from a shorter range or more noise, and how distance helps."""

from __future__ import annotations

from dataclasses import dataclass
from math import log10

from coldfield.beacon.field import axial_field_a_per_m
from coldfield.beacon.receiver import FARTHEST_M, NEAREST_M
from coldfield.errors import OutOfModel
from coldfield.message import message, number


def noise_rise_from_ranges_db(*, quiet_range_m: float, today_range_m: float) -> float:
    """Return the rise in noise that shortens a range on the axis from one distance to another, dB.

    Raises
    ------
    OutOfModel
        If a range lies outside 0.1 to 200 m.

    Notes
    -----
    This is the ratio of the full fields at both distances. With the static field alone it is 60
    log10 of the ratio of the ranges: 6 dB shortens a range to 0.794 of itself.

    Examples
    --------
    >>> round(noise_rise_from_ranges_db(quiet_range_m=5.0, today_range_m=3.97), 2)
    6.01
    """
    if not all(NEAREST_M <= r <= FARTHEST_M for r in (quiet_range_m, today_range_m)):
        raise OutOfModel(message("fault.ranges_between", low=number(NEAREST_M), high=number(FARTHEST_M, 0)))
    fields = [float(axial_field_a_per_m(1.0, r)) for r in (today_range_m, quiet_range_m)]
    return 20.0 * log10(fields[0] / fields[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class NearbySource:
    """How a noisy object affects a receiver: its noise at a distance, and the range that is left."""

    distance_m: float
    noise_rise_db: float
    range_share: float


TRANSMITTING_SIDE = message("note.transmitting_side")
SEARCHING_SIDE = message("note.searching_side")


def nearby_source_table(
    rise_at_50cm_db: float = 1.0, distances_m: tuple[float, ...] = (0.2, 0.3, 0.5, 0.8, 1.0)
) -> list[NearbySource]:
    """Return how a source affects a searching set at several distances.

    Parameters
    ----------
    rise_at_50cm_db : float
        How much it raises the noise of the set at 50 cm, dB; above 0, at most 40. Setting.
    distances_m : tuple of float
        The distances to report, m.

    Raises
    ------
    OutOfModel
        If a figure is outside its range.

    Notes
    -----
    The source's field falls as 1/r^3 and adds to the set's own noise in power: the rise is
    10 log10(1 + (s / n)^2), and a range shrinks as 10^(-rise / 60) (static field).

    Examples
    --------
    >>> [(row.distance_m, round(row.noise_rise_db, 1), round(row.range_share, 2))
    ...     for row in nearby_source_table(1.0, (0.2, 0.5, 1.0))]
    [(0.2, 18.1, 0.5), (0.5, 1.0, 0.96), (1.0, 0.0, 1.0)]
    """
    if not 0.0 < rise_at_50cm_db <= 40.0 or not all(0.05 <= d <= 10.0 for d in distances_m):
        raise OutOfModel(message("fault.rise_at_50cm"))
    own = 10.0 ** (rise_at_50cm_db / 10.0) - 1.0
    rows = []
    for distance in distances_m:
        rise = 10.0 * log10(1.0 + own * (0.5 / distance) ** 6)
        rows.append(NearbySource(distance_m=distance, noise_rise_db=rise, range_share=10.0 ** (-rise / 60.0)))
    return rows
