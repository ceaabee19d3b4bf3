"""From the objects of a drill to the compiled searcher model, and back to arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, hypot, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.envelope_detection import TABLE_STEP, noise_a_per_m, probability_table
from coldfield.beacon.field import moment_am2
from coldfield.beacon.receiver import antenna_factors, reference_moment_am2, threshold_a_per_m
from coldfield.drill import Burial, Drill, Searcher, Skill
from coldfield.drill.skills import TABLE, Spread, check_skill
from coldfield.errors import BadInput, OutOfModel
from coldfield.message import message
from coldfield.rescue import digging
from coldfield.rescue.ground_order import ground_before_m2
from coldfield.rescue.kernel.event_loop import many_runs
from coldfield.rescue.kernel.layout import LAID, ROUTE, RULES, WHO, Each, Fixed, new_state
from coldfield.rescue.lanes_like import LanesLike
from coldfield.rescue.settings import SETTINGS, Settings
from coldfield.search.lanes.pace import STEEPEST_RISE, TRAVEL_FACTOR

_DRAWN = tuple(line.name for line in TABLE if line.kind != "count")


@dataclass(frozen=True, eq=False, kw_only=True)
class KernelRuns:
    """Moments (runs, burials, 7), s; failure and finder (runs, burials); end, s, and events (runs,)."""

    moments_s: NDArray[np.float64]
    failure: NDArray[np.int64]
    finder: NDArray[np.int64]
    end_s: NDArray[np.float64]
    events: NDArray[np.int64]


def play_runs(
    fixed: Fixed, *, seed: int, first_run: int, last_run: int, each: Sequence[Fixed] = ()
) -> KernelRuns:
    """Play runs with the compiled program.

    Parameters
    ----------
    each : sequence of Fixed, optional
        One for each run, with its people, burials and rules; everything else comes from `fixed`.

    Raises
    ------
    OutOfModel
        If a run does not come to an end within a million events.
    """
    runs, burials = last_run - first_run, len(fixed.laid)
    out = KernelRuns(
        moments_s=np.empty((runs, burials, 7)),
        failure=np.empty((runs, burials), np.int64),
        finder=np.empty((runs, burials), np.int64),
        end_s=np.empty(runs),
        events=np.empty(runs, np.int64),
    )
    state = new_state(fixed)
    rows = _rows(each or [fixed])
    many_runs(
        fixed, rows, state, seed, first_run, out.moments_s, out.failure, out.finder, out.end_s, out.events
    )
    if (out.end_s < 0.0).any():
        raise OutOfModel(message("fault.endless_run"))
    return out


def _rows(each: Sequence[Fixed]) -> Each:
    who = _stacked([one.who for one in each])
    return Each(
        who=who,
        words=who.view(np.float64).reshape(*who.shape, -1),
        laid=_stacked([one.laid for one in each]),
        rules=_stacked([one.rules for one in each]),
    )


def _stacked(arrays: Sequence[NDArray[np.void]]) -> NDArray[np.void]:
    """Return arrays of one shape and type stacked (`np.stack` is slow because it checks every field)."""
    stacked = np.empty((len(arrays), *arrays[0].shape), arrays[0].dtype)
    for row, array in zip(stacked, arrays, strict=True):
        row[...] = array
    return stacked


def is_compiled() -> bool:
    """Return whether a compiled program made from the same source was shipped or is in the cache."""
    return many_runs.ready


def packed(drill: Drill, lanes: LanesLike, second: LanesLike | None, settings: Settings) -> Fixed:
    """Return a drill as the arrays of the compiled program.

    Raises
    ------
    BadInput
        If the drill has no searcher, or a skill, receiver or lane that nobody could use.
    """
    if not drill.searchers:
        raise BadInput(message("fault.rehearsal_needs_one").at("searchers"))
    corners, routes = _ways(drill, lanes, second)
    who = np.array([_who(drill, s, settings) for s in drill.searchers], WHO)
    return Fixed(
        who=who,
        words=who.view(np.float64).reshape(len(who), -1),
        spread=np.array([_spread(s.skill) for s in drill.searchers]),
        laid=_laid(drill, settings),
        rules=_rules(drill, settings, ground_before_m2(drill.site, [])[1]),
        routes=routes,
        corners=corners,
        table=np.stack([probability_table(s.receiver.antennas) for s in drill.searchers]),
    )


def with_burials(fixed: Fixed, drill: Drill, settings: Settings = SETTINGS) -> Fixed:
    """Return the same with the burials of another drill, which must have as many."""
    return fixed._replace(laid=_laid(drill, settings))


def with_dug(fixed: Fixed, drill: Drill, settings: Settings) -> NDArray[np.void]:
    """Return the burials in their places, with the digging figures for other settings."""
    laid = fixed.laid.copy()
    for k, burial in enumerate(drill.burials):
        for name, value in _dug(drill, burial, settings).items():
            laid[name][k] = value
    return laid


def with_constants(fixed: Fixed, drill: Drill, settings: Settings) -> Fixed:
    """Return the same for other skills and settings; lanes, ground and gear stay as they are."""
    who = fixed.who.copy()
    words = who.view(np.float64).reshape(len(who), -1)
    middles: dict[tuple[int, int, bool], list[float]] = {}
    for k, searcher in enumerate(drill.searchers):
        alike = (id(searcher.skill), searcher.receiver.antennas, searcher.shovel)
        if alike not in middles:
            middles[alike] = _middles(searcher, settings)
        words[k, : len(_DRAWN)] = middles[alike]
    return fixed._replace(
        who=who,
        words=words,
        laid=with_dug(fixed, drill, settings),
        rules=_rules(drill, settings, float(fixed.rules["ground"][0])),
    )


def _spread(skill: Skill) -> list[tuple[float, float, float]]:
    """Return, per drawn constant, the deviation with quickness, its own deviation, and 1 for a share."""
    rows = []
    for line in TABLE:
        if line.kind != "count":
            of = skill.spread.get(line.name, Spread(between=0.0, within=0.0))
            quickly = line.quick * of.between * sqrt(skill.shared)
            rest = hypot(of.between * sqrt(1.0 - skill.shared), of.within)
            rows.append((quickly, rest, 1.0 if line.kind == "share" else 0.0))
    return rows


def _middles(searcher: Searcher, settings: Settings) -> list[float]:
    """Return the constants of a searcher that are drawn in each run, in the order of the table."""
    skill = searcher.skill
    one = searcher.receiver.antennas == 1
    pace, look = (settings.look_pace, settings.look_s) if one else (1.0, 0.0)
    hands = 1.0 if searcher.shovel else settings.digging.hand_factor
    by = {"coarse_speed_m_s": pace, "near_speed_m_s": pace, "dig_rate_kg_s": hands}
    more = {"turn_s": look}
    return [getattr(skill, name) * by.get(name, 1.0) + more.get(name, 0.0) for name in _DRAWN]


def _who(drill: Drill, searcher: Searcher, settings: Settings) -> tuple[float | int, ...]:
    receiver = searcher.receiver
    check_skill(searcher.skill)
    threshold = threshold_a_per_m(receiver, drill.conditions.noise_rise_db)
    factors = [*antenna_factors(receiver).tolist(), 1.0, 1.0][:3]
    return (
        *_middles(searcher, settings),
        searcher.probe_length_m or 0.0,
        *factors,
        threshold,
        noise_a_per_m(threshold, receiver.antennas),
        reference_moment_am2(receiver),
        receiver.marking,
        searcher.skill.fine_rounds,
        receiver.antennas,
        int(receiver.turning),
    )


def _laid(drill: Drill, settings: Settings) -> NDArray[np.void]:
    areas, _ = ground_before_m2(drill.site, [b.position_m for b in drill.burials])
    rows = [_burial(drill, b, area, settings) for b, area in zip(drill.burials, areas, strict=True)]
    return np.array(rows, LAID)


def _burial(drill: Drill, burial: Burial, area_m2: float, settings: Settings) -> tuple[float | int, ...]:
    slope = drill.site.slope_rad
    x, y = _on_snow(drill, burial.position_m)
    sent, moment = burial.transmitter, (0.0, 0.0, 0.0)
    if sent is not None:
        size = float(moment_am2(sent.field_at_10m_a_per_m))
        level = size * cos(burial.antenna.tilt_rad)
        along, uphill = _turned(drill, burial.antenna.azimuth_rad)
        moment = (level * along, level * uphill, size * sin(burial.antenna.tilt_rad))
    along, uphill = _turned(drill, burial.body_azimuth_rad)
    length = hypot(along, uphill / cos(slope))
    return (
        x,
        y,
        burial.depth_m,
        *moment,
        *((sent.period_s, sent.pulse_s, sent.phase_s) if sent is not None else (0.0, 0.0, 0.0)),
        along / length,
        uphill / cos(slope) / length,
        area_m2,
        *_dug(drill, burial, settings).values(),
        int(sent is not None),
        int(burial.outline == "sack"),
    )


def _dug(drill: Drill, burial: Burial, settings: Settings) -> dict[str, float]:
    """Return the fields of a burial that depend on settings: places to dig, snow, upper side of the body."""
    slope, by = drill.site.slope_rad, settings.digging
    density = drill.conditions.snow_density_kg_m3
    thick = settings.sack_radius_m if burial.outline == "sack" else settings.person_thickness_m
    return {
        "room": digging.places(burial.depth_m, slope, by),
        "snow": digging.snow_to_move_kg(burial.depth_m, slope, density, by),
        "top": burial.depth_m - 0.5 * thick,
    }


def _turned(drill: Drill, azimuth_rad: float) -> tuple[float, float]:
    """Return the parts of a level direction along the contour and uphill."""
    away = azimuth_rad - drill.site.aspect_rad
    return -sin(away), -cos(away)


def _on_snow(drill: Drill, position_m: tuple[float, float]) -> tuple[float, float]:
    a, (east, north) = drill.site.aspect_rad, position_m
    return -cos(a) * east + sin(a) * north, -(sin(a) * east + cos(a) * north) / cos(drill.site.slope_rad)


_OF_SETTINGS = {
    "horizon": "horizon_s",
    "about_share": "turn_about_share",
    "about": "turn_about_m",
    "about_above": "turn_about_above_m",
    "near_reading": "near_reading_m",
    "fine_reading": "fine_reading_m",
    "past": "past_lowest_m",
    "swing": "swing_rad",
    "swing_within": "swing_within_m",
    "coarse_limit": "coarse_limit_s",
    "rise": "fine_rise_m",
    "leg": "fine_leg_m",
    "step": "spiral_step_m",
    "radius": "spiral_radius_m",
    "person_length": "person_length_m",
    "person_width": "person_width_m",
    "lean": "body_tilt_rad",
    "sack": "sack_radius_m",
    "fallback": "fallback_s",
    "period_spread": "period_spread",
    "row_rate": "line_rate_m2_s",
    "row_pod": "line_pod",
    "row_depth": "line_first_depth_m",
    "back": "back_after_pulses",
    "lost_after": "lost_after_pulses",
    "pause": "lost_pause_pulses",
    "most_abouts": "most_turn_abouts",
    "most_losses": "most_losses",
    "attempts": "fine_attempts",
    "per_set": "searchers_per_missing_set",
}
"""Rules that equal a setting, by the setting's name."""

_OF_DIGGING = {
    "snow_spread": "snow_spread",
    "uncover": "uncover_s",
    "block": "block_s",
    "block_loss": "block_loss",
    "sustained": "sustained",
    "turns": "turns",
    "far_factor": "far_factor",
    "blind_factor": "blind_factor",
}
"""The same for the constants of digging."""


def _rules(drill: Drill, settings: Settings, ground: float) -> NDArray[np.void]:
    site = drill.site
    entry = _on_snow(drill, site.entry_m)
    given = {
        **{rule: getattr(settings, name) for rule, name in _OF_SETTINGS.items()},
        **{rule: getattr(settings.digging, name) for rule, name in _OF_DIGGING.items()},
        "gear_off": 0.0 if drill.conditions.travel == "on foot" else settings.gear_off_s,
        "c1": settings.circles_m[0],
        "c2": settings.circles_m[1],
        "c3": settings.circles_m[2],
        "stray": float(moment_am2(settings.stray_field_at_10m_a_per_m)),
        "finder_digs": int(settings.finder_digs),
        "definite": int(settings.definite),
        "sin_slope": sin(site.slope_rad),
        "cos_slope": cos(site.slope_rad),
        "along_e": -cos(site.aspect_rad),
        "along_n": sin(site.aspect_rad),
        "up_e": -sin(site.aspect_rad),
        "up_n": -cos(site.aspect_rad),
        "travel": TRAVEL_FACTOR[drill.conditions.travel],
        "ground": ground,
        "entry_x": entry[0],
        "entry_y": entry[1],
        "longest": max(p.probe_length_m or 0.0 for p in drill.searchers),
        "table_step": TABLE_STEP,
        "steepest": STEEPEST_RISE,
    }
    return np.array([tuple(given[name] for name in RULES.names or ())], RULES)


def _ways(
    drill: Drill, lanes: LanesLike, second: LanesLike | None
) -> tuple[NDArray[np.float64], NDArray[np.void]]:
    who = {searcher.id: k for k, searcher in enumerate(drill.searchers)}
    corners: list[tuple[float, float]] = []
    routes: list[tuple[int, int, int, int]] = []
    owners: set[str] = set()
    for number, plan in enumerate((lanes, second)):
        for lane in plan.lanes if plan is not None else ():
            if lane.searcher not in who:
                raise BadInput(message("fault.lane_of_nobody", name=lane.searcher).at("lanes"))
            line = np.asarray(lane.line_m, dtype=np.float64)
            if line.ndim != 2 or len(line) == 0 or not np.isfinite(line).all():
                raise BadInput(message("fault.lane_without_corners", name=lane.searcher).at("lanes"))
            begin = len(corners)
            corners += [_on_snow(drill, (float(e), float(n))) for e, n in line]
            owns = number == 0 and lane.searcher not in owners
            routes.append((begin, len(corners), number, who[lane.searcher] if owns else -1))
            owners.add(lane.searcher)
    return np.array(corners, dtype=np.float64).reshape(-1, 2), np.array(routes, ROUTE)
