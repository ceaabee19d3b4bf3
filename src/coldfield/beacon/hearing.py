"""Which set is heard where: from burials, a receiver and places to readings and directions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.beacon.field import antenna_axis, harmonic_dipole_field, moment_am2
from coldfield.beacon.formulas import (
    CARRY_ROUNDS,
    CARRY_SETTLED,
    FAR_HEIGHT_M,
    FAR_READING_M,
    NEAR_HEIGHT_M,
    NEAR_READING_M,
)
from coldfield.beacon.receiver import (
    antenna_factors,
    combined_amplitude_a_per_m,
    raw_reading_m,
    shown_reading_m,
    threshold_a_per_m,
)
from coldfield.drill import Burial, Receiver


class SnowSurface(Protocol):
    """The snow under the plan; it gives points in space above or below itself."""

    def at(self, position_m: ArrayLike, above_m: ArrayLike = 0.0) -> NDArray[np.float64]:
        """Return points, shape (..., 3), `above_m` from the snow, at right angles to it."""
        ...


@dataclass(frozen=True, eq=False)
class Sources:
    """The transmitting sets: ids, where they are (n, 3), m, and their peak moments (n, 3), A m2."""

    ids: tuple[str, ...]
    point_m: NDArray[np.float64]
    moment_am2: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Heard:
    """How a receiver responds to each set: arrays of shape (..., n).

    `magnitude_a_per_m` is the size of the field, `amplitude_a_per_m` the combined amplitude,
    `reading_m` the distance shown (nan: not heard), `direction_rad` the azimuth of the line the
    field lies along, from 0 up to pi (nan: not heard, or heard without a direction).
    """

    field_a_per_m: NDArray[np.complex128]
    magnitude_a_per_m: NDArray[np.float64]
    amplitude_a_per_m: NDArray[np.float64]
    reading_m: NDArray[np.float64]
    direction_rad: NDArray[np.float64]
    audible: NDArray[np.bool_]


def sources_of(burials: Iterable[Burial], terrain: SnowSurface) -> Sources:
    """Return the sets of those burials that have one, in their order.

    Examples
    --------
    >>> from coldfield.drill import Antenna, Transmitter
    >>> from coldfield.drill.terrain import Plane
    >>> burial = Burial(id="A", position_m=(22.0, 41.0), depth_m=0.8, body_azimuth_rad=0.0,
    ...     antenna=Antenna(azimuth_rad=0.0, tilt_rad=0.0), transmitter=Transmitter())
    >>> sources_of([burial], Plane()).point_m.tolist()
    [[22.0, 41.0, -0.8]]
    """
    ids, points, moments = [], [], []
    for burial in burials:
        if burial.transmitter is None:
            continue
        axis = antenna_axis(burial.antenna.azimuth_rad, burial.antenna.tilt_rad)
        ids.append(burial.id)
        points.append(terrain.at(burial.position_m, -burial.depth_m))
        moments.append(moment_am2(burial.transmitter.field_at_10m_a_per_m) * axis)
    return Sources(tuple(ids), np.array(points).reshape(-1, 3), np.array(moments).reshape(-1, 3))


def hear(
    sources: Sources,
    receiver: Receiver,
    point_m: ArrayLike,
    *,
    heading_rad: ArrayLike = 0.0,
    noise_rise_db: float = 0.0,
) -> Heard:
    """Return how a level receiver responds to each set at points in space, in definite mode.

    Parameters
    ----------
    sources : Sources
        The n transmitting sets.
    receiver : Receiver
        Antennas, factors, threshold or range.
    point_m : array_like, shape (..., 3)
        Where the set is, site axes, m.
    heading_rad : array_like, shape (...)
        Azimuth along which its holder walks.
    noise_rise_db : float
        Rise of today's noise over quiet, dB.

    Returns
    -------
    Heard
        Arrays of shape (..., n); the field (..., n, 3).

    Raises
    ------
    OutOfModel
        If a point coincides with a set, or is not finite.
    BadInput
        If the receiver's figures contradict each other.

    Notes
    -----
    Each set is considered on its own; `coldfield.beacon.pulses` deals with overlapping pulses. The
    reading is that of a set that knows the size of the whole field. For one or two antennas in the
    last metres see `coldfield.search.pinpointing.fine_search`.
    """
    point = np.asarray(point_m, dtype=np.float64)
    field = harmonic_dipole_field(sources.moment_am2, point[..., None, :] - sources.point_m)
    heading = np.asarray(heading_rad, dtype=np.float64)[..., None]
    magnitude = np.sqrt(np.sum(np.abs(field) ** 2, axis=-1))
    amplitude = combined_amplitude_a_per_m(receiver, field, heading)
    threshold = threshold_a_per_m(receiver, noise_rise_db)
    audible = amplitude >= threshold * (1.0 - 1e-12)  # at the measured range itself it is heard
    level = _level_amplitude(receiver, field, heading)
    reading = np.where(audible, shown_reading_m(raw_reading_m(receiver, magnitude)), np.nan)
    direction = np.where(audible & (level >= threshold), line_azimuth_rad(field), np.nan)
    return Heard(field, magnitude, amplitude, reading, direction, audible)


def line_azimuth_rad(field_a_per_m: ArrayLike) -> NDArray[np.float64]:
    """Return the azimuth, 0 up to pi, of the long axis of the field's horizontal polarisation ellipse.

    Fields of shape (..., 3) give azimuths of shape (...).

    Examples
    --------
    >>> np.degrees(line_azimuth_rad([[1, 0, 5], [1, 1, 0], [1j, -1j, 0]])).round(6).tolist()
    [90.0, 45.0, 135.0]
    """
    h = np.asarray(field_a_per_m, dtype=np.complex128)
    east, north = h[..., 0], h[..., 1]
    twice = np.arctan2(2.0 * (east * north.conj()).real, np.abs(north) ** 2 - np.abs(east) ** 2)
    azimuth = np.mod(0.5 * twice, np.pi)
    return np.where(azimuth >= np.pi, 0.0, azimuth)


def carry_height_m(reading_m: ArrayLike) -> NDArray[np.float64]:
    """Return the height at which a set is carried: 1.0 m, falling to 0.1 m between readings of 10 m and 3 m.

    Common practice; no source for the line in between. A reading of nan (nothing heard) gives 1.0 m.
    Keeps any shape.

    Examples
    --------
    >>> carry_height_m([np.nan, 40.0, 6.5, 2.0]).round(3).tolist()
    [1.0, 1.0, 0.55, 0.1]
    """
    reading = np.asarray(reading_m, dtype=np.float64)
    share = (reading - NEAR_READING_M) / (FAR_READING_M - NEAR_READING_M)
    height = NEAR_HEIGHT_M + (FAR_HEIGHT_M - NEAR_HEIGHT_M) * np.clip(share, 0.0, 1.0)
    return np.where(np.isnan(reading), FAR_HEIGHT_M, height)


def carried_point_m(
    sources: Sources,
    receiver: Receiver,
    terrain: SnowSurface,
    position_m: ArrayLike,
    *,
    heading_rad: ArrayLike = 0.0,
    noise_rise_db: float = 0.0,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return where a set is carried over places of the plan, (..., 3), and how high, (...), m.

    The height depends on the lowest reading and the reading on the height. Each round of repetition
    shrinks the error to a sixth; eight rounds leave less than 1e-6 m. Beside a silent zone no
    height may fit, because the set falls silent as it is lowered; there it stays at the lowest
    height reached.
    """
    position = np.asarray(position_m, dtype=np.float64)
    height = np.full(position.shape[:-1], FAR_HEIGHT_M)
    if not sources.ids:
        return terrain.at(position, height), height
    for turn in range(CARRY_ROUNDS):
        point = terrain.at(position, height)
        heard = hear(sources, receiver, point, heading_rad=heading_rad, noise_rise_db=noise_rise_db)
        raw = np.where(heard.audible, raw_reading_m(receiver, heard.magnitude_a_per_m), np.inf)
        carried = carry_height_m(np.min(raw, axis=-1))
        if turn >= CARRY_SETTLED:
            carried = np.minimum(carried, height)
        settled = bool(np.all(np.abs(carried - height) < 1e-6))
        height = carried
        if settled:
            break
    return terrain.at(position, height), height


def _level_amplitude(
    receiver: Receiver, field: NDArray[np.complex128], heading: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Amplitude of the horizontal part at the level antennas; a single antenna is swung round to find it."""
    factors = antenna_factors(receiver)
    across = factors[min(1, len(factors) - 1)]
    sin, cos = np.sin(heading), np.cos(heading)
    along_part = np.abs(field[..., 0] * sin + field[..., 1] * cos) / factors[0]
    across_part = np.abs(field[..., 0] * cos - field[..., 1] * sin) / across
    return np.asarray(np.hypot(along_part, across_part))
