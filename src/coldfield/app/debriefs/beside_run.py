"""What a debrief shows besides the run: strip width, lines of hearing, planned lanes, survival."""

from __future__ import annotations

from importlib import import_module

import numpy as np
from numpy.typing import NDArray

from coldfield.debrief.clocks.align import FROM_SPLIT
from coldfield.debrief.debriefing import Debriefing
from coldfield.debrief.document import BurialSurvival, CurveRead, Survival
from coldfield.debrief.hearing.lines import HearingLines, hearing_lines, weakest
from coldfield.debrief.snow import GridSnow
from coldfield.drill.drill import Drill
from coldfield.errors import ColdfieldError, OutOfModel
from coldfield.message import Message, length, message

SURVIVAL_NOTE = message("note.survival_curves")


def strip_width(drill: Drill) -> tuple[float | None, list[Message]]:
    """Return the strip width in use, m, or None, and notes on where it comes from."""
    if drill.conditions.strip_width_m is not None:
        return drill.conditions.strip_width_m, []
    try:
        width = import_module("coldfield.search.width.strip_width").group_strip_width_m(drill)
    except OutOfModel as error:
        return None, [message("note.no_width", why=error.message)]
    return float(width), [message("note.group_width", width=length(width, 0))]


def lines_for_weakest(debriefing: Debriefing) -> tuple[tuple[HearingLines, ...], str | None]:
    """Return the weakest receiver's lines of hearing, and whose receiver it is; none without a track."""
    drill = debriefing.drill
    if not debriefing.aligned.tracks:
        return (), None
    day = drill.conditions.noise_rise_db
    receivers = {s.id: s.receiver for s in drill.searchers}
    who = weakest(receivers, day)
    if who is None:
        return (), None
    snow = debriefing.terrain
    return hearing_lines(drill.site, debriefing.sources, receivers[who], snow, noise_rise_db=day), who


def planned_lanes(debriefing: Debriefing) -> tuple[list[tuple[str, NDArray[np.float64]]], list[Message]]:
    """Return the group's planned lanes, by searcher, and notes; none without a track."""
    from coldfield.search.lanes.plan import plan_lanes

    drill, width, terrain = debriefing.drill, debriefing.strip_width_m, debriefing.terrain
    if width is None or not drill.searchers or not debriefing.aligned.tracks:
        return [], []
    try:
        plan = plan_lanes(
            drill.site,
            drill.searchers,
            strip_width_m=width,
            terrain=terrain.grid if isinstance(terrain, GridSnow) else terrain,
            travel=drill.conditions.travel,
            heading_rad=drill.conditions.lane_heading_rad,
        )
    except ColdfieldError as error:
        return [], [message("note.no_lanes", why=error.message)]
    return [(lane.searcher, lane.line_m) for lane in plan.lanes], []


def survival_of(debriefing: Debriefing) -> Survival:
    """Return survival by each published curve for each burial, at the time its airway was freed."""
    from coldfield.survival.curves import CURVES

    before = debriefing.drill.conditions.burial_to_alarm_s
    burials = []
    for burial in debriefing.drill.burials:
        clear = debriefing.aligned.splits.first("airway_clear", burial=burial.id)
        if clear is None or clear + before < 0 or debriefing.aligned.zero == FROM_SPLIT:
            continue
        read = [(name, curve.label, float(curve.survival(clear + before))) for name, curve in CURVES.items()]
        burials.append(
            BurialSurvival(
                burial=burial.id,
                curves=tuple(
                    CurveRead(name=name, label=label, at_airway=value) for name, label, value in read
                ),
                low=min(value for _, _, value in read),
                high=max(value for _, _, value in read),
            )
        )
    return Survival(burial_to_alarm_s=before, burials=tuple(burials), note=SURVIVAL_NOTE)
