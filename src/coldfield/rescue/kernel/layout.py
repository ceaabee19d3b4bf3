"""Data layout of the compiled searcher model: what a drill fixes, and the state of a run."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.formulas import FAR_HEIGHT_M, NEAR_HEIGHT_M

READY, TO_LANE, LANE, CIRCLE, COARSE, FINE, PROBE, GO, AT, DIG, ROW, IDLE = range(12)
"""What a person does. ROW: in the probe line."""

FIRST_SIGNAL_T, TURN_T, TEN_T, CROSS_T, LOWEST_T, STRIKE_T, AIRWAY_T = range(7)
"""Columns of a burial's moments, in the order of `coldfield.rescue.rehearsal.MOMENTS`."""

CIRCLE_CORNERS = 12
MISSES_IN_FINE = 20
HOLE_LENGTH_M = 2.4
FINE_HEIGHT_M, SEARCH_HEIGHT_M, STRAY_HEIGHT_M = NEAR_HEIGHT_M, FAR_HEIGHT_M, 0.5
STRAY_PERIOD_S, STRAY_PULSE_S = 1.0, 0.09

_F, _I = np.float64, np.int64

WHO = np.dtype(
    [
        *((name, _F) for name in ("reaction", "signal", "coarse", "near", "fine", "aim", "wrong", "stop")),
        *((name, _F) for name in ("slip", "probe_ready", "hole", "felt", "marking", "left_on")),
        *((name, _F) for name in ("shovel_ready", "dig", "far", "probe", "f1", "f2", "f3")),
        *((name, _F) for name in ("threshold", "noise", "reference", "works")),
        ("rounds", _I),
        ("antennas", _I),
        ("turning", _I),
    ]
)
"""One searcher: first the constants that are drawn in each run, in the order of
`coldfield.drill.skills.TABLE`. All fields have 64 bits. `slip` is the place error, `aim` the
direction noise, `reference` the moment to which readings refer, and `works` how often the marking
function works."""

LAID = np.dtype(
    [
        *((name, _F) for name in ("x", "y", "depth", "mx", "my", "mz", "period", "pulse", "phase")),
        *((name, _F) for name in ("ux", "uy", "row_area", "room", "snow", "top")),
        ("has_set", _I),
        ("sack", _I),
    ]
)
"""One burial, fixed: place on the snow, moment in level axes, keying, body, digging. `top` is the
height of the body's upper side above the set."""

RULES = np.dtype(
    [
        *((name, _F) for name in ("horizon", "about_share", "about", "about_above")),
        *((name, _F) for name in ("near_reading", "fine_reading", "past", "swing", "swing_within")),
        *((name, _F) for name in ("coarse_limit", "rise", "leg", "step", "radius")),
        *((name, _F) for name in ("person_length", "person_width", "lean", "sack", "gear_off")),
        *((name, _F) for name in ("c1", "c2", "c3")),
        *((name, _F) for name in ("fallback", "stray", "period_spread", "row_rate", "row_pod", "row_depth")),
        *((name, _I) for name in ("back", "lost_after", "pause", "most_abouts", "most_losses")),
        *((name, _I) for name in ("attempts", "per_set", "finder_digs", "definite")),
        *((name, _F) for name in ("sin_slope", "cos_slope", "along_e", "along_n", "up_e", "up_n")),
        *((name, _F) for name in ("travel", "ground", "entry_x", "entry_y", "longest")),
        *((name, _F) for name in ("snow_spread", "uncover", "block", "block_loss", "sustained", "turns")),
        ("far_factor", _F),
        ("blind_factor", _F),
        ("table_step", _F),
        ("steepest", _F),
    ]
)
"""Settings and site; `up_e, up_n` is the level unit vector uphill."""

PERSON = np.dtype(
    [
        *((name, _F) for name in ("x", "y", "since", "dx", "dy", "speed", "timer", "gx", "gy")),
        *((name, _F) for name in ("cx", "cy", "height", "turned", "best", "bx", "by", "ex", "ey")),
        *((name, _F) for name in ("walked", "best_walked", "s1_walked", "s1", "s2_walked", "s2")),
        *((name, _F) for name in ("ax", "ay", "dig_began", "crew_rate")),
        *((name, _I) for name in ("mode", "lane", "target", "probe_job", "probe_ready", "shovel_ready")),
        *((name, _I) for name in ("at_ready", "circle", "misses", "abouts", "swings", "leg", "best_leg")),
        *((name, _I) for name in ("improved", "attempt", "hits", "left_on", "solved", "free", "gear_off")),
    ]
)
"""One searcher in the middle of a run."""

BURIED = np.dtype(
    [
        *(
            (name, _F)
            for name in ("px", "py", "tried", "snow", "luck", "dug_since", "updated", "rate", "due", "lean")
        ),
        *((name, _I) for name in ("finder", "claimed", "needs", "probed", "attempts")),
        *((name, _I) for name in ("struck", "clear", "dug", "block", "ends", "uncovering", "blind")),
    ]
)
"""One burial in the middle of a run."""

ROUTE = np.dtype([("begin", _I), ("end", _I), ("second", _I), ("owner", _I)])
"""One lane, fixed: its corners, whether it belongs to the second pass, and whose it is (-1: nobody's)."""

HEARD_K, HEARD, LOSSES, TURNS, MARKS, LOST_K = range(6)
"""What a searcher remembers about a source: the last pulse tested, whether the last three were
heard, the number of approaches, and the pulse until which the source is not followed again."""

WAY = np.dtype([("x", _F), ("y", _F), ("leg", _I), ("walker", _I), ("done", _I)])
SOURCE = np.dtype([*((name, _F) for name in ("mx", "my", "mz", "period", "pulse", "phase")), ("k", _I)])
MISC = np.dtype(
    [
        *((name, _F) for name in ("row_done", "row_since", "row_began", "row_due", "row_rate", "row_at")),
        *(
            (name, _I)
            for name in ("row_next", "row_pass", "over", "events", "strays", "seed", "run", "share", "finder")
        ),
    ]
)
"""Probe line and clock; `share`: tasks have to be assigned again; `finder`: who has just struck."""


class Fixed(NamedTuple):
    """What a drill fixes: record arrays, corners of all lanes, detection tables per searcher.

    `who` has the medians, `words` the same as plain numbers. `spread`, shape (people, constants,
    3), has three numbers for each constant that is drawn: the signed standard deviation that goes
    with the person's quickness, the constant's own standard deviation, and 1 if the constant is a
    share.
    """

    who: NDArray[np.void]
    words: NDArray[np.float64]
    spread: NDArray[np.float64]
    laid: NDArray[np.void]
    rules: NDArray[np.void]
    routes: NDArray[np.void]
    corners: NDArray[np.float64]
    table: NDArray[np.float64]


class Each(NamedTuple):
    """What may differ from run to run: fields of `Fixed`, (1 or runs, ...); one entry serves all runs."""

    who: NDArray[np.void]
    words: NDArray[np.float64]
    laid: NDArray[np.void]
    rules: NDArray[np.void]


class State(NamedTuple):
    """The state of one run; made once for many runs.

    Records: `who` and `people` (searchers,), `buried` (burials,), `ways` (lanes,), `sources` (burials +
    searchers,), `misc` (1,). Plain numbers: `words` (searchers, constants), the memory of `who`; `moments`
    (burials, 7), s; `pairs` (searchers, sources, 6).
    """

    who: NDArray[np.void]
    words: NDArray[np.float64]
    people: NDArray[np.void]
    buried: NDArray[np.void]
    ways: NDArray[np.void]
    sources: NDArray[np.void]
    misc: NDArray[np.void]
    moments: NDArray[np.float64]
    pairs: NDArray[np.int64]


def new_state(fixed: Fixed) -> State:
    """Return an empty state with room for a drill."""
    people, buried = len(fixed.who), len(fixed.laid)
    who = fixed.who.copy()
    return State(
        who=who,
        words=who.view(np.float64).reshape(people, -1),
        people=np.zeros(people, PERSON),
        buried=np.zeros(buried, BURIED),
        ways=np.zeros(len(fixed.routes), WAY),
        sources=np.zeros(buried + people, SOURCE),
        misc=np.zeros(1, MISC),
        moments=np.full((buried, 7), np.nan),
        pairs=np.zeros((people, buried + people, 6), np.int64),
    )
