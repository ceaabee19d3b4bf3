"""Strip widths as an answer and as lines of text."""

from __future__ import annotations

from collections.abc import Mapping
from math import degrees

from coldfield.app.answers import fields_of
from coldfield.app.strips.answers import (
    ChanceAnswer,
    DirectionAnswer,
    GroundEffectAnswer,
    ScenarioAnswer,
    StripWidthAnswer,
    SurvivalAtWidth,
    WidthUncertainty,
)
from coldfield.app.strips.width import RANGE_DOUBT, StripWidths
from coldfield.beacon.receiver import antenna_factors
from coldfield.message import Message, Quantity, message, number
from coldfield.search.width.ground_effect import GroundEffect
from coldfield.search.width.lateral_range import DirectionChance
from coldfield.search.width.strip_width import (
    WidthChance,
    chances_by_width,
    sweep_width_error_m,
    walked_width_m,
)
from coldfield.words import column

METHOD, LITERATURE = message("note.width_method"), message("note.width_literature")
ASSUMPTIONS = (
    message("note.width_straight_lanes"),
    message("note.width_free_space"),
    message("note.width_one_transmitter"),
    message("note.width_range_right"),
    message("note.width_first_pulse_noticed"),
)
CAUTION = message("caution.widths")
GROUND_WORDS: Mapping[str, Message] = {
    "dry rock or frozen ground": message("term.ground.dry_rock"),
    "dry soil": message("term.ground.dry_soil"),
    "wet soil": message("term.ground.wet_soil"),
    "bog or clay": message("term.ground.bog"),
}
"""The names of the kinds of ground in `coldfield.beacon.ground`."""

DIRECTION_WORDS: Mapping[str, Message] = {
    "upright": message("term.direction.upright"),
    "level, along the lane": message("term.direction.along"),
    "level, across the lane": message("term.direction.across"),
    "worst of all": message("term.direction.worst"),
}
"""The names of the directions in `direction_chances`."""


def strip_width_answer(result: StripWidths) -> StripWidthAnswer:
    """Return strip widths as `coldfield strip-width --json` prints them."""
    timed = result.timed
    return StripWidthAnswer(
        edge_width_m=result.edge_width_m,
        timed_width_m=timed.best_m,
        sweep_width_m=result.sweep_width_m,
        coaxial_range_m=result.coaxial_range_m,
        coplanar_range_m=result.coplanar_range_m,
        upright_range_m=result.upright_range_m,
        quiet_coaxial_range_m=result.quiet_coaxial_range_m,
        noise_rise_db=result.pair.noise_rise_db,
        pod=result.question.pod,
        widths=tuple(_with_coverage(chance, result.sweep_width_m) for chance in result.widths),
        chances_by_width=tuple(_rounded(chance) for chance in chances_by_width(result.curve)),
        reasons=result.reasons,
        timed_width_within_1_percent_m=timed.within_m,
        timed_curve=tuple(
            SurvivalAtWidth(width_m=float(w), expected_survival=float(s))
            for w, s in zip(timed.width_m, timed.survival, strict=True)
        ),
        meier_width_m=result.meier_m,
        uncertainty=WidthUncertainty(
            edge_width_standard_error_m=result.edge_width_error_m,
            sweep_width_standard_error_m=sweep_width_error_m(result.curve),
            range_doubt_m=_doubt_m(result),
            edge_width_at_shorter_range_m=result.edge_width_low_m,
            edge_width_at_longer_range_m=result.edge_width_high_m,
        ),
        directions_at_half_the_edge_width=tuple(_direction(one) for one in result.directions),
        ground=tuple(_ground(row) for row in result.ground),
        scenario=_scenario(result),
        method=METHOD,
        assumptions=ASSUMPTIONS,
        literature=LITERATURE,
        warnings=result.warnings,
    )


def _with_coverage(chance: WidthChance, sweep_width_m: float) -> ChanceAnswer:
    return ChanceAnswer(**fields_of(chance), coverage=sweep_width_m / chance.width_m)


def _rounded(chance: WidthChance) -> WidthChance:
    return WidthChance(**{name: round(value, 4) for name, value in fields_of(chance).items()})


def _direction(one: DirectionChance) -> DirectionAnswer:
    return DirectionAnswer(
        words=DIRECTION_WORDS[one.words],
        azimuth_from_lane_deg=degrees(one.azimuth_rad),
        tilt_deg=degrees(one.tilt_rad),
        probability=one.probability,
    )


def _ground(row: GroundEffect) -> GroundEffectAnswer:
    return GroundEffectAnswer(
        words=GROUND_WORDS[row.words],
        in_line_range_share=row.in_line_share,
        side_by_side_range_share=row.side_by_side_share,
        upright_range_share=row.upright_share,
        edge_width_share=row.edge_width_share,
        timed_width_share=row.timed_width_share,
        sweep_width_share=row.sweep_width_share,
    )


def _doubt_m(result: StripWidths) -> float:
    sd = result.question.range_sd_m
    return RANGE_DOUBT * result.coaxial_range_m if sd is None else sd


def _scenario(result: StripWidths) -> ScenarioAnswer:
    scenario, pair = result.question.scenario, result.pair
    return ScenarioAnswer(
        ground=message("term.scenario.ground"),
        area_m2=scenario.area_m2,
        searchers=scenario.searchers,
        lane_speed_m_per_s=scenario.lane_speed_m_s,
        first_signal_to_airway_s=scenario.first_signal_to_airway_s,
        burial_to_start_s=scenario.before_s,
        survival_curve=scenario.curve.name,
        survival_curve_label=scenario.curve.label,
        missed_once=message("term.scenario.missed_once"),
        missed_twice=message("term.scenario.missed_twice"),
        median_depth_m=pair.median_depth_m,
        depth_sigma=pair.depth_sigma,
        receiver_height_m=pair.height_m,
        transmitter_directions=message("term.scenario.isotropic"),
        field_at_10m_ua_per_m=pair.transmitter.field_at_10m_a_per_m * 1e6,
        period_s=pair.transmitter.period_s,
        threshold_na_per_m=pair.threshold_a_per_m() * 1e9,
        antennas=pair.receiver.antennas,
        antenna_factors=tuple(float(f) for f in antenna_factors(pair.receiver)),
    )


def strip_widths_lines(result: StripWidths) -> list[Message]:
    """Return the lines of text."""
    return [
        *_range_lines(result),
        *_timed_lines(result),
        message("command.width.table"),
        *(_chance_line(chance) for chance in result.widths),
        message("command.width.ground"),
        *(_ground_line(row) for row in result.ground),
        *(message("command.note", note=words) for words in result.warnings),
        CAUTION,
    ]


def _range_lines(result: StripWidths) -> list[Message]:
    """Return lines on today's range, the edge width and its main uncertainty."""
    upright: Message | str = ""
    if result.upright_range_m:
        upright = message("command.width.upright", upright=number(result.upright_range_m, 0))
    worst = result.directions[-1]
    lines = [
        message(
            "command.width.range",
            coaxial=number(result.coaxial_range_m, 0),
            coplanar=number(result.coplanar_range_m, 0),
            upright=upright,
            quiet=number(result.quiet_coaxial_range_m, 0),
        ),
        message(
            "command.width.edge",
            width=number(walked_width_m(result.edge_width_m), 0),
            pod=number(100.0 * result.question.pod, 0),
        ),
    ]
    if result.edge_width_low_m is not None and result.edge_width_high_m is not None:
        bounds = (result.edge_width_low_m, result.edge_width_high_m)
        low, high = (number(walked_width_m(width), 0) for width in bounds)
        lines.append(message("command.width.doubt", doubt=number(_doubt_m(result), 0), low=low, high=high))
    tilt, chance = number(degrees(worst.tilt_rad), 0), number(100.0 * worst.probability, 0)
    return [*lines, message("command.width.hardest", tilt=tilt, chance=chance)]


def _timed_lines(result: StripWidths) -> list[Message]:
    """Return lines on the widths from survival and search theory, and Meier's estimate."""
    timed, scenario = result.timed, result.question.scenario
    low, high = (number(width, 0) for width in timed.within_m)
    lines = [
        message("command.width.timed", width=number(timed.best_m, 0), low=low, high=high),
        message(
            "command.width.scenario",
            searchers=scenario.searchers,
            area=number(scenario.area_m2 / 1e4),
            minutes=number(scenario.first_signal_to_airway_s / 60),
            curve=scenario.curve.label,
        ),
        message("command.width.sweep", width=number(result.sweep_width_m, 0)),
    ]
    if result.meier_m is not None:
        lines.append(message("command.width.meier", width=number(result.meier_m, 0)))
    return lines


def _chance_line(chance: WidthChance) -> Message:
    worst, mean = 100.0 * chance.worst_point_probability, 100.0 * chance.mean_probability
    return message(
        "command.width.row",
        width=column(chance.width_m, 1, 6),
        worst=column(worst, 1, 18),
        mean=column(mean, 1, 13),
    )


def _ground_line(row: GroundEffect) -> Message:
    return message(
        "command.width.ground_row",
        ground=GROUND_WORDS[row.words],
        edge=_share(row.edge_width_share),
        timed=_share(row.timed_width_share),
        sweep=_share(row.sweep_width_share),
    )


def _share(share: float | None) -> Quantity | Message:
    return message("none.value") if share is None else number(share, 2)
