"""Strip widths as an answer and as lines for a person."""

from __future__ import annotations

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
from coldfield.search.width.ground_effect import GroundEffect
from coldfield.search.width.lateral_range import DirectionChance
from coldfield.search.width.strip_width import WidthChance, chances_by_width, sweep_width_error_m

METHOD = (
    "A set counts as heard where the combined amplitude of the receiver's antennas reaches its threshold "
    "at one pulse or more while the nearest searcher walks past on a straight lane (full dipole field at "
    "457 kHz, free space). Chances are over isotropic directions of the transmitter, lognormal depths and "
    "random pulse phases: 32,768 even samples. Edge width: widest spacing at which no place between two "
    "lanes is below the wanted chance. Timed width: the spacing with the most expected survivors, with a "
    "second search at half the spacing where nothing was heard. Sweep width: 2 E[L] of search theory, "
    "never a spacing."
)
ASSUMPTIONS = (
    "level snow, straight long lanes, the set held level 1.0 m above the snow, its first antenna along "
    "the lane",
    "free space: what conducting ground would do stands under 'ground'",
    "one transmitter at a time: overlapping pulses of several sets are left out",
    "the range was measured right, and holds for every set of the group and all day",
    "the searcher notices the first pulse that is heard",
)
LITERATURE = (
    "A published simulation puts the width with the best survival at 1.2 to 1.4 times the realistic "
    "maximum range (Survival chance optimized search strip width in avalanche rescue, Cold Reg. Sci. "
    "Technol. 59 (2009) 259-266, abstract seen). The timed width here is often wider: every pulse at the "
    "threshold counts as heard, ranges do not scatter from set to set, a second search follows at once "
    "and lasts no longer than its lanes, and the curve of survival is a later one, flatter in the first "
    "minutes. Its top is so flat that both lie within 1 % of it."
)
CAUTION = "For training and planning. The group's own measured ranges, local rules and the leader decide."


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
        words=one.words,
        azimuth_from_lane_deg=degrees(one.azimuth_rad),
        tilt_deg=degrees(one.tilt_rad),
        probability=one.probability,
    )


def _ground(row: GroundEffect) -> GroundEffectAnswer:
    return GroundEffectAnswer(
        words=row.words,
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
        ground="level square, one burial anywhere on it",
        area_m2=scenario.area_m2,
        searchers=scenario.searchers,
        lane_speed_m_per_s=scenario.lane_speed_m_s,
        first_signal_to_airway_s=scenario.first_signal_to_airway_s,
        burial_to_start_s=scenario.before_s,
        survival_curve=scenario.curve.name,
        missed_once="second search at half the width",
        missed_twice="counts as lost",
        median_depth_m=pair.median_depth_m,
        depth_sigma=pair.depth_sigma,
        receiver_height_m=pair.height_m,
        transmitter_directions="isotropic",
        field_at_10m_ua_per_m=pair.transmitter.field_at_10m_a_per_m * 1e6,
        period_s=pair.transmitter.period_s,
        threshold_na_per_m=pair.threshold_a_per_m() * 1e9,
        antennas=pair.receiver.antennas,
        antenna_factors=tuple(float(f) for f in antenna_factors(pair.receiver)),
    )


def strip_widths_lines(result: StripWidths) -> list[str]:
    """Return what a person reads."""
    timed, scenario = result.timed, result.question.scenario
    lines = [
        f"Range today: {result.coaxial_range_m:.0f} m on the axis, {result.coplanar_range_m:.0f} m side by "
        "side"
        + (f", {result.upright_range_m:.0f} m beside an upright set" if result.upright_range_m else "")
        + f" (quiet: {result.quiet_coaxial_range_m:.0f} m on the axis)",
        f"Edge width: {result.edge_width_m:.0f} m. No place between two lanes is heard with less than "
        f"{result.question.pod:.0%} chance.",
    ]
    if result.edge_width_low_m is not None and result.edge_width_high_m is not None:
        lines.append(
            f"  With a range {_doubt_m(result):.0f} m shorter or longer: {result.edge_width_low_m:.0f} to "
            f"{result.edge_width_high_m:.0f} m."
        )
    worst = result.directions[-1]
    lines += [
        f"  Hardest there: a set tilted {degrees(worst.tilt_rad):.0f} deg up from level "
        f"({worst.probability:.0%} of its passes are heard).",
        f"Timed width: {timed.best_m:.0f} m; from {timed.within_m[0]:.0f} to {timed.within_m[1]:.0f} m "
        "expected survival is within 1 % of that.",
        f"  {scenario.searchers} searchers, {scenario.area_m2 / 1e4:g} ha, one burial anywhere, "
        f"{scenario.first_signal_to_airway_s / 60:g} min from first signal to airway; {scenario.curve.name}.",
        f"Sweep width: {result.sweep_width_m:.0f} m (search theory; not a spacing).",
    ]
    if result.meier_m is not None:
        lines.append(f"Meier's estimate from the coaxial range: {result.meier_m:.0f} m.")
    lines.append("Lanes apart   chance at the worst place   on average")
    lines += [
        f"  {w.width_m:6.1f} m   {w.worst_point_probability:20.1%}   {w.mean_probability:15.1%}"
        for w in result.widths
    ]
    lines.append("Over conducting ground the edge, timed and sweep width would be, against free space:")
    lines += [
        f"  {row.words}: {_share(row.edge_width_share)}, {_share(row.timed_width_share)}, "
        f"{_share(row.sweep_width_share)}"
        for row in result.ground
    ]
    lines += [f"Note: {words}." for words in result.warnings]
    return [*lines, CAUTION]


def _share(share: float | None) -> str:
    return "not known" if share is None else f"{share:.2f}"
