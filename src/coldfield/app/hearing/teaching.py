"""Small answers for teaching and the morning check: fine search, noise, range test."""

from __future__ import annotations

from math import degrees

from coldfield.app.hearing.answers import FineAnswer, FineRow, NoiseAnswer, RangeTestAnswer, ReceiverFigures
from coldfield.beacon.calibration import Calibration, calibrate
from coldfield.beacon.interference import (
    SEARCHING_SIDE,
    TRANSMITTING_SIDE,
    nearby_source_table,
    noise_rise_from_ranges_db,
)
from coldfield.beacon.receiver import antenna_factors
from coldfield.drill import Drill, Receiver
from coldfield.drill.searcher import DEFAULT_ANTENNA_FACTORS
from coldfield.errors import BadInput, UnknownRecord
from coldfield.message import message
from coldfield.search.pinpointing.fine_search import BuriedSet, LowestPlace, lowest_place, probe_words

FINE_NOTES = (
    message("note.fine_level"),
    message("note.fine_indication"),
)


def fine_search(*, depth_m: float, tilt_rad: float) -> FineAnswer:
    """Return where the lowest reading lies over a set, for three, two and one antennas.

    Raises
    ------
    OutOfModel
        If the depth lies outside 0 to 10 m or the tilt is not finite.
    """
    buried = BuriedSet(depth_m=depth_m, tilt_rad=tilt_rad)
    rows = []
    for antennas in (3, 2, 1):
        receiver = Receiver(
            coaxial_range_m=45.0, antennas=antennas, antenna_factors=DEFAULT_ANTENNA_FACTORS[antennas]
        )
        rows.append(_fine_row(antennas, lowest_place(buried, receiver)))
    return FineAnswer(depth_m=depth_m, tilt_deg=degrees(tilt_rad), receivers=tuple(rows), notes=FINE_NOTES)


def _fine_row(antennas: int, place: LowestPlace) -> FineRow:
    return FineRow(
        antennas=antennas,
        offset_m=place.offset_m,
        offset_share_of_depth=place.share_of_depth,
        lowest_reading_m=place.reading_m,
        hole_rings=place.hole_rings,
        words=probe_words(place),
    )


def burial_to_probe(drill: Drill, burial: str | None) -> tuple[str, float, float]:
    """Return id, depth and tilt of a burial of a drill; by default the first that has a set.

    Raises
    ------
    UnknownRecord
        If there is no such burial with a set.
    """
    for one in drill.burials:
        if one.transmitter is not None and burial in (None, one.id):
            return one.id, one.depth_m, one.antenna.tilt_rad
    if burial is None:
        raise UnknownRecord(message("fault.no_burial_with_any_set"))
    raise UnknownRecord(message("fault.no_burial_with_set", id=burial))


def noise_table(
    *,
    rise_at_50cm_db: float,
    quiet_range_m: float | None = None,
    today_range_m: float | None = None,
) -> NoiseAnswer:
    """Return the effect of noise near a receiver, and the noise rise that explains a shortened range.

    Raises
    ------
    BadInput
        If only one of the two ranges is given.
    OutOfModel
        If a figure lies outside the model.
    """
    if (quiet_range_m is None) != (today_range_m is None):
        raise BadInput(message("fault.both_ranges"))
    rise = None
    if quiet_range_m is not None and today_range_m is not None:
        rise = noise_rise_from_ranges_db(quiet_range_m=quiet_range_m, today_range_m=today_range_m)
    return NoiseAnswer(
        noise_rise_db=rise,
        source_rise_at_50_cm_db=rise_at_50cm_db,
        rows=tuple(nearby_source_table(rise_at_50cm_db)),
        searching_side=SEARCHING_SIDE,
        transmitting_side=TRANSMITTING_SIDE,
    )


def range_test(
    *,
    coaxial_runs_m: tuple[float, ...],
    coplanar_runs_m: tuple[float, ...],
    upright_runs_m: tuple[float, ...],
    reference_field_at_10m_a_per_m: float,
    antennas: int,
) -> RangeTestAnswer:
    """Return a receiver's figures from measured ranges, with their standard errors.

    Raises
    ------
    BadInput
        If runs are missing, out of range or contradict each other.
    """
    fitted = calibrate(
        coaxial_runs_m=coaxial_runs_m,
        coplanar_runs_m=coplanar_runs_m,
        upright_runs_m=upright_runs_m,
        reference_field_at_10m_a_per_m=reference_field_at_10m_a_per_m,
        antennas=antennas,
    )
    return _range_test(fitted)


def _range_test(fitted: Calibration) -> RangeTestAnswer:
    receiver = fitted.receiver
    return RangeTestAnswer(
        receiver=ReceiverFigures(
            threshold_na_per_m=fitted.threshold_a_per_m * 1e9,
            reference_field_at_10m_ua_per_m=receiver.reference_field_at_10m_a_per_m * 1e6,
            antennas=receiver.antennas,
            antenna_factors=tuple(float(f) for f in antenna_factors(receiver)),
        ),
        coaxial_range_m=fitted.coaxial_range_m,
        coaxial_range_error_m=fitted.coaxial_range_error_m,
        threshold_error_na_per_m=fitted.threshold_error_a_per_m * 1e9,
        upright_factor=fitted.upright_factor,
        upright_factor_error=fitted.upright_factor_error,
        agreement_in_standard_errors=fitted.agreement,
        notes=fitted.notes,
    )
