"""What was learned, in sentences."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from coldfield.app.coaching.group_runs import GroupRuns
from coldfield.app.rehearsals.constants import constant_words
from coldfield.coaching.difficulty import CONSTANTS, NAMES
from coldfield.coaching.learn import EIGHT_OF_TEN, Learned, Outlier
from coldfield.message import Message, Quantity, duration, message, share, times

FIRST = ("dig_rate_kg_s", "signal_speed_m_s", "coarse_speed_m_s", "near_speed_m_s", "fine_speed_m_s")
"""Constants that come first if they were learned."""

MOST_SAID = 4
"""The number of sentences; the rest is in the table. Setting."""

Say = Callable[[Quantity, Quantity, int], Message]


def headlines(learned: Learned) -> tuple[Message, ...]:
    """Return what the group's runs show, the most certain of the main constants first."""
    if not learned.told_enough:
        return (message("coach.too_little", n=learned.runs),)
    known = learned.is_learned(None)
    names = [name for name in (*FIRST, *NAMES) if known[NAMES.index(name)]]
    return tuple(_headline(learned, name) for name in dict.fromkeys(names))[:MOST_SAID]


def _headline(learned: Learned, name: str) -> Message:
    k = NAMES.index(name)
    shift, spread, _ = learned.shift(None)
    by, doubt = float(shift[k]), EIGHT_OF_TEN * float(spread[k])
    runs = learned.runs_of.get((None, name), 0)
    give = share(float(np.expm1(doubt)))
    if abs(by) <= doubt:
        return message("coach.as_setting", what=constant_words(name), doubt=give, n=runs)
    change = share(abs(float(np.expm1(by))))
    if name == "dig_rate_kg_s":
        if by > 0.0:
            return message("coach.digs_faster", change=change, doubt=give, n=runs)
        return message("coach.digs_slower", change=change, doubt=give, n=runs)
    if CONSTANTS[k].kind == "share":
        change = share(abs(float(np.expm1(by))))
    if by > 0.0:
        return message("coach.more", what=constant_words(name), change=change, doubt=give, n=runs)
    return message("coach.less", what=constant_words(name), change=change, doubt=give, n=runs)


PIECES = {
    "alarm": message("coach.moment.alarm"),
    "first_signal": message("coach.moment.first_signal"),
    "turn": message("coach.moment.turn"),
    "within_10_m": message("coach.moment.within_10_m"),
    "fine_start": message("coach.moment.fine_start"),
    "lowest_reading": message("coach.moment.lowest_reading"),
    "probe_strike": message("coach.moment.probe_strike"),
    "airway": message("coach.moment.airway"),
}
"""The parts of a run, as text for people."""


def outlier_words(one: Outlier, group: GroupRuns) -> Message:
    """Say which part of which run hardly counts, and why."""
    return message(
        "coach.outlier",
        run=one.run_name,
        burial=one.interval.burial,
        begin=PIECES[one.interval.begin],
        end=PIECES[one.interval.end],
        took=duration(one.interval.seconds),
        usual=duration(one.interval.seconds / one.times),
        times=times(one.times),
    )
