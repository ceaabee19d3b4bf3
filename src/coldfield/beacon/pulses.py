"""Keying: when each set transmits, and how often several sets hide each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coldfield.errors import OutOfModel
from coldfield.message import message

MOST_PULSES = 2_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Keying:
    """A set transmits for `pulse_s`, first at `phase_s` and again every `period_s`."""

    period_s: float
    pulse_s: float
    phase_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Masked:
    """How many of a set's pulses others hide.

    `share` is the share of its pulses that overlap a pulse of another set. `longest_s` is the longest
    time from the start of one clear pulse to the next, minus the period: 0 if none is hidden.
    """

    share: float
    longest_s: float


def pulse_starts_s(keying: Keying, duration_s: float) -> NDArray[np.float64]:
    """Return the starts of all pulses from 0 up to a duration, shape (pulses,), s."""
    first = np.ceil(-keying.phase_s / keying.period_s)
    count = int(np.ceil((duration_s - keying.phase_s) / keying.period_s - first))
    return np.asarray(keying.phase_s + keying.period_s * (first + np.arange(max(count, 0))))


def masked(keyings: tuple[Keying, ...], duration_s: float) -> tuple[Masked, ...]:
    """Return, for each set, how many of its pulses others hide in a given time.

    Parameters
    ----------
    keyings : tuple of Keying
        All sets that are heard at a place with about equal strength.
    duration_s : float
        The time considered, from 0, s.

    Raises
    ------
    OutOfModel
        If a period, pulse or the duration is not above 0, a pulse is not shorter than its period,
        or more than two million pulses would be looked at.

    Notes
    -----
    Two pulses hide each other if they overlap at all, because overlapping pulses cannot be told
    apart. In reality a pulse of a much stronger set is not hidden by a weaker one; this is left out
    here.

    Examples
    --------
    Equal periods keep their phases: half a period apart two sets never meet.

    >>> one, two = Keying(period_s=1.0, pulse_s=0.1), Keying(period_s=1.0, pulse_s=0.1, phase_s=0.5)
    >>> masked((one, two), 60.0)[0]
    Masked(share=0.0, longest_s=0.0)
    """
    _check(keyings, duration_s)
    return tuple(
        _masked_one(k, [other for j, other in enumerate(keyings) if j != i], duration_s)
        for i, k in enumerate(keyings)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MaskedAtRandom:
    """The effect of random phases on a set: mean share hidden; longest spell in 9 of 10 runs."""

    mean_share: float
    longest_p90_s: float


def masked_at_random(
    keyings: tuple[Keying, ...], duration_s: float, rng: np.random.Generator, draws: int = 200
) -> tuple[MaskedAtRandom, ...]:
    """Return how others hide each set's pulses when all phases are drawn many times from an even
    distribution.

    Raises
    ------
    OutOfModel
        As in `masked`, or if there are no draws.
    """
    _check(keyings, duration_s * max(draws, 1))
    if draws < 1:
        raise OutOfModel(message("fault.draw_phases"))
    runs = []
    for _ in range(draws):
        phases = rng.random(len(keyings))
        thrown = tuple(replace(k, phase_s=p * k.period_s) for k, p in zip(keyings, phases, strict=True))
        runs.append([(one.share, one.longest_s) for one in masked(thrown, duration_s)])
    shares, longest = np.moveaxis(np.array(runs).reshape(draws, len(keyings), 2), -1, 0)
    return tuple(
        MaskedAtRandom(mean_share=float(s.mean()), longest_p90_s=float(np.quantile(x, 0.9)))
        for s, x in zip(shares.T, longest.T, strict=True)
    )


def overlap_chance_in_a_cycle(sets: int, *, pulse_s: float, period_s: float) -> float:
    """Return the chance that any two of N sets with one period and random phases overlap.

    1 - (1 - N a / T)^(N - 1): arcs of length a thrown on a circle of length T (derived).

    Examples
    --------
    >>> [round(overlap_chance_in_a_cycle(n, pulse_s=0.07, period_s=1.0), 3) for n in (2, 3, 4, 5)]
    [0.14, 0.376, 0.627, 0.821]
    """
    if sets < 1 or not 0.0 < pulse_s < period_s:
        raise OutOfModel(message("fault.sets_and_pulse"))
    return 1.0 - max(1.0 - sets * pulse_s / period_s, 0.0) ** (sets - 1)


def masked_share_in_the_long_run(keying: Keying, others: tuple[Keying, ...]) -> float:
    """Return the long-run share of a set's pulses that others hide, for random phases.

    1 - product over the others of 1 - (a + a_j) / T_j (derived). Exact if the phases are
    independent and evenly distributed, as they are in the long run for incommensurable periods.

    Examples
    --------
    >>> one = Keying(period_s=1.0, pulse_s=0.09)
    >>> round(masked_share_in_the_long_run(one, (one, one)), 4)
    0.3276
    """
    clear = 1.0
    for other in others:
        clear *= max(1.0 - (keying.pulse_s + other.pulse_s) / other.period_s, 0.0)
    return 1.0 - clear


def overlap_episode_s(one: Keying, two: Keying) -> tuple[float, float]:
    """Return how long two sets with slightly different periods overlap, and after what time again, s.

    (a1 + a2) T1 / |T1 - T2| and T1 T2 / |T1 - T2| (derived): in each period the phase shifts by the
    difference of the periods.

    Raises
    ------
    OutOfModel
        If both have the same period; they then always overlap, or never.

    Examples
    --------
    >>> one, two = Keying(period_s=1.0, pulse_s=0.07), Keying(period_s=1.01, pulse_s=0.07)
    >>> episode, again = overlap_episode_s(one, two)
    >>> round(episode, 1), round(again, 1)
    (14.0, 101.0)
    """
    gap = abs(one.period_s - two.period_s)
    if gap == 0.0:
        raise OutOfModel(message("fault.one_period"))
    return (one.pulse_s + two.pulse_s) * one.period_s / gap, one.period_s * two.period_s / gap


def _check(keyings: tuple[Keying, ...], duration_s: float) -> None:
    for k in keyings:
        if not (0.0 < k.pulse_s < k.period_s < np.inf and np.isfinite(k.phase_s)):
            raise OutOfModel(message("fault.pulse_and_phase"))
    if not 0.0 < duration_s < np.inf:
        raise OutOfModel(message("fault.duration_above_0"))
    if sum(duration_s / k.period_s for k in keyings) > MOST_PULSES:
        raise OutOfModel(message("fault.too_many_pulses", most=MOST_PULSES))


def hidden_pulses(
    keying: Keying, others: Sequence[Keying], duration_s: float
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return the starts of a set's pulses from 0 up to a duration, s, and which of them others hide.

    Examples
    --------
    >>> one = Keying(period_s=1.0, pulse_s=0.1)
    >>> starts, hidden = hidden_pulses(one, [Keying(period_s=1.5, pulse_s=0.1)], 4.0)
    >>> starts.tolist(), hidden.tolist()
    ([0.0, 1.0, 2.0, 3.0], [True, False, False, True])
    """
    starts = pulse_starts_s(keying, duration_s)
    hidden = np.zeros(len(starts), dtype=np.bool_)
    for other in others:
        # The phase of each pulse's start in the other set's cycle.
        into = np.mod(starts - other.phase_s, other.period_s)
        hidden |= (into < other.pulse_s) | (into + keying.pulse_s > other.period_s)
    return starts, hidden


def hidden_spells_s(
    keying: Keying, starts_s: NDArray[np.float64], hidden: NDArray[np.bool_]
) -> list[tuple[float, float]]:
    """Return the times when all pulses of a set are hidden: from the first hidden pulse to the next
    clear one, s.

    Examples
    --------
    >>> one = Keying(period_s=1.0, pulse_s=0.1)
    >>> hidden_spells_s(one, np.arange(5.0), np.array([False, True, True, False, True]))
    [(1.0, 3.0), (4.0, 5.0)]
    """
    edge = np.diff(np.concatenate([[0], hidden.astype(np.int8), [0]]))
    ends = np.concatenate([starts_s, starts_s[-1:] + keying.period_s])
    pairs = zip(np.flatnonzero(edge == 1), np.flatnonzero(edge == -1), strict=True)
    return [(float(ends[a]), float(ends[b])) for a, b in pairs]


def _masked_one(keying: Keying, others: list[Keying], duration_s: float) -> Masked:
    starts, hidden = hidden_pulses(keying, others, duration_s)
    if len(starts) == 0:
        return Masked(share=0.0, longest_s=0.0)
    clear = np.flatnonzero(np.concatenate([[True], ~hidden, [True]]))
    longest = int(np.diff(clear).max()) - 1
    return Masked(share=float(hidden.mean()), longest_s=longest * keying.period_s)
