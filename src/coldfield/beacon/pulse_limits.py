"""What the standards allow for a set's pulses, and what a recording shows about it.

The figures are known only second-hand and are marked so wherever they are shown.

References
----------
.. [1] EN 300 718 (keying: period 1000 +-300 ms, on at least 70 ms, off at least 400 ms), as other pages
   quote it.
.. [2] EN 282:1991 (period 0.9 +-0.4 s, on above 70 ms, off above 200 ms), as other pages quote it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coldfield.beacon.pulse_recording import LEAST_PULSES, Measure, PulseTimes
from coldfield.message import Message, Quantity, message, number

Verdict = Literal["within", "outside", "cannot tell"]
Source = Literal["coil", "receiver", "unknown"]
"""What was recorded: a coil, a receiver known to pass the pulse through, or unknown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a standard allows, s."""

    least_period_s: float
    most_period_s: float
    least_on_s: float
    least_off_s: float


EN_300_718 = Limits(least_period_s=0.7, most_period_s=1.3, least_on_s=0.07, least_off_s=0.4)
EN_282 = Limits(least_period_s=0.5, most_period_s=1.3, least_on_s=0.07, least_off_s=0.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A verdict on each time and an overall verdict, with the reasons."""

    verdict: Verdict
    period: Verdict
    on: Verdict
    off: Verdict
    off_measure: Measure | None
    reasons: tuple[Message, ...]


def judge(times: PulseTimes, source: Source) -> Judged:
    """Return what may be said about a set from its recorded pulses.

    Parameters
    ----------
    times : PulseTimes
        The times found in the recording.
    source : 'coil', 'receiver' or 'unknown'
        What was recorded. Many receivers make their own tone; then only the period is that of the set.

    Notes
    -----
    A time is within the limits if its whole range is within, and outside if its whole range is
    outside. The overall verdict is 'outside' if one time is, and 'within' if each is. Fewer than
    five pulses give no verdict.
    """
    limits, few = EN_300_718, len(times.starts_s) < LEAST_PULSES
    off = _off(times)
    period = _between(times.period, limits.least_period_s, limits.most_period_s)
    on, gap = _between(times.on, limits.least_on_s), _between(off, limits.least_off_s)
    if few:
        period = on = gap = "cannot tell"
    reasons = list(times.reasons)
    if source == "unknown":
        on = gap = "cannot tell"
        reasons.append(message("pulse.length_of_receiver"))
    all_of = (period, on, gap)
    verdict: Verdict = "outside" if "outside" in all_of else "cannot tell"
    if all(one == "within" for one in all_of):
        verdict = "within"
    reasons += _outside(times, off, period, on, gap)
    reasons += [message("pulse.carrier"), message("pulse.limits"), message("pulse.no_clearance")]
    return Judged(verdict=verdict, period=period, on=on, off=gap, off_measure=off, reasons=tuple(reasons))


def _off(times: PulseTimes) -> Measure | None:
    if times.period is None or times.on is None:
        return None
    period, on = times.period, times.on
    return Measure(
        value_s=period.value_s - on.value_s,
        error_s=(period.error_s**2 + on.error_s**2) ** 0.5,
        low_s=period.low_s - on.high_s,
        high_s=period.high_s - on.low_s,
    )


def _between(found: Measure | None, least_s: float, most_s: float = float("inf")) -> Verdict:
    if found is None:
        return "cannot tell"
    low, high = found.bounds()
    if low >= least_s and high <= most_s:
        return "within"
    return "outside" if high < least_s or low > most_s else "cannot tell"


def _outside(
    times: PulseTimes, off: Measure | None, period: Verdict, on: Verdict, gap: Verdict
) -> list[Message]:
    """The times that lie outside, each with its limit."""
    limits, said = EN_300_718, []
    if period == "outside" and times.period is not None:
        low, high = _ms(limits.least_period_s), _ms(limits.most_period_s)
        said.append(message("pulse.period_outside", value=_ms(times.period.value_s), low=low, high=high))
        if _between(times.period, EN_282.least_period_s, EN_282.most_period_s) == "within":
            said.append(message("pulse.within_older"))
        if times.period.value_s < 0.5 * limits.most_period_s:
            said.append(message("pulse.may_be_two"))
    if on == "outside" and times.on is not None:
        said.append(message("pulse.on_outside", value=_ms(times.on.value_s), low=_ms(limits.least_on_s)))
    if gap == "outside" and off is not None:
        said.append(message("pulse.off_outside", value=_ms(off.value_s), low=_ms(limits.least_off_s)))
    return said


def _ms(seconds: float) -> Quantity:
    return number(1e3 * seconds, 0)
