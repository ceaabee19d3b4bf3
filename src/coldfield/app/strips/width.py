"""Today's strip width: the group's weakest pair, three widths, chances, and what they are based on."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from coldfield.app.strips.reasons import WidthReasons, width_reasons
from coldfield.beacon.field import broadside_field_a_per_m
from coldfield.beacon.interference import noise_rise_from_ranges_db
from coldfield.beacon.receiver import FARTHEST_M, NEAREST_M, antenna_factors, check_receiver
from coldfield.drill import Drill, Receiver, Transmitter
from coldfield.drill.searcher import DEFAULT_ANTENNA_FACTORS, DEFAULT_ANTENNAS, DEFAULT_REFERENCE_A_PER_M
from coldfield.errors import BadInput, OutOfModel
from coldfield.message import Message, length, message, number
from coldfield.search.width.ground_effect import GroundEffect, ground_effects
from coldfield.search.width.lateral_range import (
    DirectionChance,
    LateralCurve,
    Pair,
    direction_chances,
    lateral_curve,
)
from coldfield.search.width.strip_width import (
    POD,
    WidthChance,
    chance_at_width,
    edge_width_error_m,
    edge_width_m,
    group_pairs,
    meier_estimate_m,
    sweep_width_m,
    weakest_of,
)
from coldfield.search.width.timed_width import Scenario, TimedWidth, timed_width

DEFAULT_THRESHOLD_A_PER_M = 80e-9
"""Used if neither a threshold nor a range is given: 80 nA/m (second-hand: EN 282:1991)."""

TABLE_WIDTHS_M = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0)
RANGE_DOUBT = 0.1
"""Relative uncertainty of a measured range whose scatter is not given. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Values typed in besides a drill or instead of one; None: the drill's, else the default.

    A typed receiver replaces the group's receivers, a typed field the transmitters'.
    """

    field_at_10m_a_per_m: float | None = None
    threshold_a_per_m: float | None = None
    coaxial_range_m: float | None = None
    vertical_range_m: float | None = None
    reference_field_at_10m_a_per_m: float | None = None
    antennas: int | None = None
    antenna_factors: tuple[float, ...] | None = None
    noise_rise_db: float | None = None
    range_today_m: float | None = None
    range_sd_m: float | None = None
    pod: float = POD
    widths_m: tuple[float, ...] = ()
    scenario: Scenario = field(default_factory=Scenario)


@dataclass(frozen=True, eq=False, kw_only=True)
class StripWidths:
    """Widths, chances, and what they are based on; lengths in m on the snow."""

    pair: Pair
    question: Question
    edge_width_m: float
    edge_width_error_m: float
    edge_width_low_m: float | None
    edge_width_high_m: float | None
    timed: TimedWidth
    sweep_width_m: float
    coaxial_range_m: float
    coplanar_range_m: float
    upright_range_m: float | None
    quiet_coaxial_range_m: float
    meier_m: float | None
    widths: tuple[WidthChance, ...]
    directions: tuple[DirectionChance, ...]
    ground: tuple[GroundEffect, ...]
    curve: LateralCurve
    reasons: WidthReasons
    warnings: tuple[Message, ...]


def strip_widths(question: Question, drill: Drill | None = None) -> StripWidths:
    """Return today's strip widths for a drill's group, or for the typed values.

    Raises
    ------
    BadInput
        If values contradict each other.
    OutOfModel
        If a value lies outside the model.
    """
    pair, edge = weakest_of(_pairs(question, drill), question.pod)
    curve = lateral_curve(pair)
    timed = timed_width(curve.reach_m, question.scenario)
    low, high = _doubted(pair, question)
    planned = drill.conditions.strip_width_m if drill is not None else None
    typed = [*question.widths_m, *([planned] if planned is not None else [])]
    wanted = sorted({*TABLE_WIDTHS_M, *typed, timed.best_m, *([edge] if edge else [])})
    result = StripWidths(
        pair=pair,
        question=question,
        edge_width_m=edge,
        edge_width_error_m=edge_width_error_m(pair, edge) if edge else 0.0,
        edge_width_low_m=low,
        edge_width_high_m=high,
        timed=timed,
        sweep_width_m=sweep_width_m(curve),
        coaxial_range_m=pair.coaxial_range_m(),
        coplanar_range_m=pair.coplanar_range_m(),
        upright_range_m=_upright_range_m(pair),
        quiet_coaxial_range_m=pair.quiet().coaxial_range_m(),
        meier_m=_meier_m(pair, question),
        widths=tuple(chance_at_width(pair, width, curve) for width in wanted),
        directions=tuple(direction_chances(pair, 0.5 * edge)),
        ground=tuple(ground_effects(pair, question.pod, question.scenario)),
        curve=curve,
        reasons=width_reasons(pair, drill, edge_m=edge, pod=question.pod, only_drill=_only(question)),
        warnings=(),
    )
    return replace(result, warnings=_warnings(result))


def _only(question: Question) -> tuple[bool, bool]:
    """Return whether the receivers, and the transmitters, are the drill's own."""
    typed = (question.threshold_a_per_m, question.coaxial_range_m, question.vertical_range_m)
    typed_too = (question.antennas, question.antenna_factors, question.reference_field_at_10m_a_per_m)
    return all(v is None for v in (*typed, *typed_too)), question.field_at_10m_a_per_m is None


def _pairs(question: Question, drill: Drill | None) -> list[Pair]:
    _check(question)
    receiver = _typed_receiver(question, drill)
    transmitter = None
    if question.field_at_10m_a_per_m is not None or drill is None:
        transmitter = Transmitter(field_at_10m_a_per_m=question.field_at_10m_a_per_m or 1.0e-6)
    if receiver is not None and transmitter is not None:
        pairs = [Pair(receiver=receiver, transmitter=transmitter)]
        if drill is not None:
            pairs = [replace(pairs[0], noise_rise_db=drill.conditions.noise_rise_db)]
    else:
        assert drill is not None
        pairs = group_pairs(drill, receiver=receiver, transmitter=transmitter)
    return [_noisy(pair, question) for pair in pairs]


def _noisy(pair: Pair, question: Question) -> Pair:
    if question.range_today_m is not None:
        quiet = pair.quiet().coaxial_range_m()
        rise = noise_rise_from_ranges_db(quiet_range_m=quiet, today_range_m=question.range_today_m)
        return replace(pair, noise_rise_db=rise)
    if question.noise_rise_db is not None:
        return replace(pair, noise_rise_db=question.noise_rise_db)
    return pair


def _check(question: Question) -> None:
    faults = []
    if question.threshold_a_per_m is not None and question.coaxial_range_m is not None:
        faults.append(message("fault.threshold_or_range"))
    if question.noise_rise_db is not None and question.range_today_m is not None:
        faults.append(message("fault.noise_or_range"))
    if question.field_at_10m_a_per_m is not None and not 0.0 < question.field_at_10m_a_per_m < np.inf:
        faults.append(message("fault.finite_above_0").at(message("place.field_at_10m")))
    if question.range_sd_m is not None and not 0.0 <= question.range_sd_m < np.inf:
        faults.append(message("fault.not_negative").at(message("place.range_scatter")))
    if (
        question.antennas is not None
        and question.antenna_factors is not None
        and len(question.antenna_factors) != question.antennas
    ):
        count = {"n": len(question.antenna_factors), "antennas": question.antennas}
        faults.append(message("fault.factors_for_antennas", **count).at(message("place.antenna_factors")))
    if faults:
        raise BadInput(faults)


def _typed_receiver(question: Question, drill: Drill | None) -> Receiver | None:
    """Return the typed receiver, or None if the drill's are used."""
    typed = (
        question.threshold_a_per_m,
        question.coaxial_range_m,
        question.vertical_range_m,
        question.antennas,
        question.antenna_factors,
        question.reference_field_at_10m_a_per_m,
    )
    if drill is not None and all(value is None for value in typed):
        return None
    threshold = question.threshold_a_per_m
    if threshold is None and question.coaxial_range_m is None:
        threshold = DEFAULT_THRESHOLD_A_PER_M
    factors = question.antenna_factors
    antennas = question.antennas or (len(factors) if factors else DEFAULT_ANTENNAS)
    if factors is None:
        factors = DEFAULT_ANTENNA_FACTORS.get(antennas, ())
    reference = question.reference_field_at_10m_a_per_m
    receiver = Receiver(
        coaxial_range_m=question.coaxial_range_m,
        threshold_a_per_m=threshold,
        vertical_range_m=question.vertical_range_m,
        reference_field_at_10m_a_per_m=DEFAULT_REFERENCE_A_PER_M if reference is None else reference,
        antennas=antennas,
        antenna_factors=factors,
    )
    check_receiver(receiver)
    return receiver


def _doubted(pair: Pair, question: Question) -> tuple[float | None, float | None]:
    """Return the edge widths for a range shorter and longer by its uncertainty; None: outside the model."""
    reach = pair.coaxial_range_m()
    doubt = RANGE_DOUBT * reach if question.range_sd_m is None else question.range_sd_m
    widths: list[float | None] = []
    for other in (reach - doubt, reach + doubt):
        try:
            rise = noise_rise_from_ranges_db(quiet_range_m=reach, today_range_m=other)
            shifted = replace(pair, noise_rise_db=pair.noise_rise_db + rise)
            widths.append(edge_width_m(shifted, pod=question.pod, samples=8192))
        except OutOfModel:
            widths.append(None)
    return widths[0], widths[1]


def _upright_range_m(pair: Pair) -> float | None:
    """Return the horizontal distance at which a level receiver hears an upright set; None: it does not."""
    factors = antenna_factors(pair.receiver)
    if len(factors) < 3:
        return None
    level = pair.threshold_a_per_m() * factors[2]
    distance = np.geomspace(NEAREST_M, FARTHEST_M, 4000)
    heard = np.flatnonzero(broadside_field_a_per_m(pair.moment_am2(), distance) >= level)
    return float(distance[heard[-1]]) if len(heard) else None


def _meier_m(pair: Pair, question: Question) -> float | None:
    if pair.receiver.antennas < 3:
        return None
    try:
        return meier_estimate_m(pair.coaxial_range_m(), question.range_sd_m or 0.0)
    except OutOfModel:
        return None


def _warnings(result: StripWidths) -> tuple[Message, ...]:
    words = []
    if result.edge_width_m <= 0.0:
        words.append(message("warning.no_spacing_reaches", pod=number(result.question.pod)))
    if result.meier_m is not None and result.edge_width_m > result.meier_m:
        words.append(message("warning.wider_than_meier", width=length(result.meier_m, 0)))
    if result.edge_width_m > 2.0 * result.coplanar_range_m:
        words.append(message("warning.half_beyond_parallel"))
    return tuple(words)
