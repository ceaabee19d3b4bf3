"""The last metres: readings over a burial, the place of the lowest one, and what this means for probing."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, hypot

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.field import antenna_axis, harmonic_dipole_field, moment_am2
from coldfield.beacon.formulas import NEAR_HEIGHT_M
from coldfield.beacon.receiver import raw_reading_m
from coldfield.drill import Receiver
from coldfield.errors import OutOfModel
from coldfield.message import Message, message, number

HOLE_STEP_M = 0.25
"""Distance between probe holes of a spiral (text seen: Genswein, bergundsteigen)."""

SURFACE_M = NEAR_HEIGHT_M
"""Height of the set above the snow in the fine search. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuriedSet:
    """A set under level snow: its depth, its tilt up from level, and its strength. It points north."""

    depth_m: float
    tilt_rad: float
    field_at_10m_a_per_m: float = 1.0e-6


@dataclass(frozen=True, eq=False)
class AxisReadings:
    """Readings along one straight line over a burial.

    `along_m` (k,) counts from the point straight above the set; `reading_m` (k,) is not rounded.
    `lowest_m` is the place of the lowest reading, `dips_m` the places of all local minima.
    """

    words: str
    along_m: NDArray[np.float64]
    reading_m: NDArray[np.float64]
    lowest_m: float
    dips_m: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LowestPlace:
    """The lowest reading on the surface: its offset from the point above the set, in m and share of depth."""

    offset_m: float
    east_m: float
    north_m: float
    reading_m: float
    share_of_depth: float
    hole_rings: int


def surface_readings_m(
    buried: BuriedSet,
    receiver: Receiver,
    east_m: NDArray[np.float64],
    north_m: NDArray[np.float64],
    *,
    heading_rad: float = 0.0,
    height_m: float = SURFACE_M,
) -> NDArray[np.float64]:
    """Return the readings of a level set over a burial, not rounded, m; arguments broadcast.

    Parameters
    ----------
    buried : BuriedSet
        The buried set; it lies under (0, 0) and points north.
    receiver : Receiver
        A set with one antenna (along the heading), two (level) or three.
    east_m, north_m : ndarray
        Places on the level snow, m.
    heading_rad : float
        Azimuth of a single antenna; without effect for two or three.
    height_m : float
        Height of the set above the snow, m.

    Notes
    -----
    The reading follows from the static law and the field that the antennas receive together: the
    whole field with three, its level part with two, one component with one. Antenna factors are
    assumed to be corrected, because near a set every antenna has enough signal.
    """
    _check(buried, height_m)
    east, north = np.broadcast_arrays(east_m, north_m)
    offset = np.stack([east, north, np.full(east.shape, buried.depth_m + height_m)], axis=-1)
    moment = moment_am2(buried.field_at_10m_a_per_m) * antenna_axis(0.0, buried.tilt_rad)
    field = harmonic_dipole_field(moment, offset)
    if receiver.antennas == 1:
        seen = np.abs(field[..., 0] * np.sin(heading_rad) + field[..., 1] * np.cos(heading_rad))
    else:
        seen = np.sqrt(np.sum(np.abs(field[..., : receiver.antennas]) ** 2, axis=-1))
    return raw_reading_m(receiver, seen)


def cross_readings(
    buried: BuriedSet, receiver: Receiver, *, half_m: float | None = None, height_m: float = SURFACE_M
) -> tuple[AxisReadings, AxisReadings]:
    """Return the readings along the two axes of a cross over a burial: along the buried set's
    azimuth and across.

    The receiver keeps its orientation, as is common practice: its first antenna points along the first
    axis on both.
    """
    reach = half_m or 2.0 * (buried.depth_m + height_m)
    along = np.linspace(-reach, reach, 401)
    zero = np.zeros_like(along)
    rows = []
    for words, east, north in (("along the set", zero, along), ("across the set", along, zero)):
        reading = surface_readings_m(buried, receiver, east, north, height_m=height_m)
        rows.append(_axis(words, along, reading))
    return rows[0], rows[1]


def lowest_place(buried: BuriedSet, receiver: Receiver, *, height_m: float = SURFACE_M) -> LowestPlace:
    """Return where the lowest reading on the snow lies.

    It is searched on a grid of 201 x 201 over twice the depth, and then refined around the best
    point until the step is below a tenth of a millimetre. If several places are equal, the first
    one from the south-west counts.

    Notes
    -----
    With the receiver on the snow itself the offset is at most a quarter of the depth for three
    antennas and half of it for one or two (Ayuso, Cuchi, Lera & Villarroel 2015, Cold Reg. Sci.
    Technol. 111, 80-94, abstract seen). `hole_rings` is the number of rings of a spiral, with holes
    0.25 m apart, up to the ring that passes the set.

    Examples
    --------
    >>> level = lowest_place(BuriedSet(depth_m=1.0, tilt_rad=0.0), Receiver(coaxial_range_m=45.0))
    >>> level.offset_m < 0.01
    True
    """
    z = buried.depth_m + height_m
    east, north, span = 0.0, 0.0, 1.5 * z
    while span > 5e-5:
        step = np.linspace(-span, span, 101)
        x, y = np.meshgrid(east + step, north + step)
        reading = surface_readings_m(buried, receiver, x, y, height_m=height_m)
        # Differences below 1e-9 are rounding errors; the first of equal places is used.
        row, column = np.argwhere(reading <= reading.min() * (1.0 + 1e-12))[0]
        east, north, span = float(x[row, column]), float(y[row, column]), span / 12.0
    offset = hypot(east, north)
    lowest = surface_readings_m(buried, receiver, np.array(east), np.array(north), height_m=height_m)
    return LowestPlace(
        offset_m=offset,
        east_m=east,
        north_m=north,
        reading_m=float(lowest),
        share_of_depth=offset / buried.depth_m,
        hole_rings=ceil(max(offset - 1e-6, 0.0) / HOLE_STEP_M),
    )


def offset_table(
    depth_m: float,
    receiver: Receiver,
    tilts_rad: tuple[float, ...],
    *,
    height_m: float = SURFACE_M,
) -> list[tuple[float, LowestPlace]]:
    """Return the place of the lowest reading for several tilts of a set at one depth."""
    return [
        (tilt, lowest_place(BuriedSet(depth_m=depth_m, tilt_rad=tilt), receiver, height_m=height_m))
        for tilt in tilts_rad
    ]


def probe_words(place: LowestPlace) -> Message:
    """Return a message about what an offset means for the first probe holes.

    Examples
    --------
    >>> probe_words(LowestPlace(offset_m=0.3, east_m=0.3, north_m=0.0, reading_m=1.0,
    ...     share_of_depth=0.3, hole_rings=2)).code
    'note.set_lies_off'
    """
    if place.offset_m < 0.05:
        return message("note.first_hole_past")
    return message("note.set_lies_off", offset=number(place.offset_m, 1), ring=place.hole_rings)


def _axis(words: str, along: NDArray[np.float64], reading: NDArray[np.float64]) -> AxisReadings:
    inner = reading[1:-1]
    dips = np.flatnonzero((inner < reading[:-2]) & (inner <= reading[2:])) + 1
    return AxisReadings(
        words, along, reading, float(along[np.argmin(reading)]), tuple(float(along[k]) for k in dips)
    )


def _check(buried: BuriedSet, height_m: float) -> None:
    if not (0.0 < buried.depth_m <= 10.0 and 0.0 <= height_m <= 10.0):
        raise OutOfModel(message("fault.depth_and_height"))
    if buried.depth_m + height_m < 0.1:
        raise OutOfModel(message("fault.closer_than_set"))
    if not np.isfinite(buried.tilt_rad):
        raise OutOfModel(message("fault.tilt_finite"))
