"""Period, length and jitter of the pulses in a sound recording of one set."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log10, pi

import numpy as np
from numpy.typing import NDArray

from coldfield.beacon.pulse_edges import Pulses, beat_of, period_of, pulses_in, two_levels
from coldfield.beacon.pulse_tone import (
    HOP_S,
    STEP_S,
    WINDOW_S,
    Keyed,
    Spectrogram,
    Spectrum,
    keyed_pitch,
    spectrogram,
    spectrum_of,
    tone_at,
    without_hum,
    without_steady,
)
from coldfield.message import Message, message, number

Array = NDArray[np.float64]

LEAST_S = 3.0
LEAST_PULSES = 5
"""Recordings with fewer pulses give no verdict. Settings."""

HALF_BANDS_HZ = (40.0, 80.0, 160.0, 320.0)
"""Filters round the tone, from the quietest to the fastest; the fastest that is still quiet is used."""

LEAST_DB, QUIET_DB = 7.0, 20.0
"""Below the first, nothing is measured; the second must remain after a faster filter. Settings."""

CLOCK_ERROR = 1e-4
"""Possible error of a sound input's clock, as a share; from memory, affects only the last digit."""

MOST_A_SECOND = 5.0
"""Pulses per second; more than this is noise. Three sets at once give four at most. Setting."""

SECOND_SET = 0.15
"""From this share of the first set's amplitude on, a second set is reported. Setting."""

SAME_BEAT = 0.0015
"""Periods that differ by less count as one: an echo, or two sets in step. Setting."""

QUICK_S = 0.66
"""Half the longest period in the standard: a faster beat may come from two sets in turn. Derived."""

TRACE_STEP_S = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A time, s, its standard error, and the limits between which it lies for reasons other than noise."""

    value_s: float
    error_s: float
    low_s: float
    high_s: float

    def bounds(self) -> tuple[float, float]:
        """Return the smallest and the largest possible value: two standard errors beyond the limits."""
        return self.low_s - 2.0 * self.error_s, self.high_s + 2.0 * self.error_s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PulseTimes:
    """What a recording shows about the pulses of a set; anything it does not show is None, with the reason.

    `level` is the strength over time, 0 to about 1, `TRACE_STEP_S` apart; `starts_s` are the beginnings
    of the pulses that keep the beat. `signal_to_noise_db` counts only the noise beside the tone.
    """

    period: Measure | None = None
    on: Measure | None = None
    jitter_s: float | None = None
    starts_s: tuple[float, ...] = ()
    pitch_hz: float | None = None
    signal_to_noise_db: float | None = None
    level: tuple[float, ...] = ()
    other_period_s: float | None = None
    reasons: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """The tone in one channel: its strength over time, the noise in it, and all its pulses."""

    power: Array
    noise: float
    on_power: float
    half_band_hz: float
    pulses: Pulses

    @property
    def decibel(self) -> float:
        return 10.0 * log10(max(self.on_power, 1e-30) / max(self.noise, 1e-10 * self.on_power, 1e-30))


def pulse_times(samples: NDArray[np.float32], rate_hz: float) -> PulseTimes:
    """Return what a recording shows about the pulses of one set.

    Parameters
    ----------
    samples : ndarray, shape (n, channels)
        Sound, full scale -1 to 1. The channel in which the tone is strongest is used.
    rate_hz : float
        Samples per second in each channel.

    Notes
    -----
    The tone is the pitch whose amplitude repeats most strongly (`keyed_pitch`). Its strength is
    measured through a Gaussian filter of 40 to 320 Hz on each side. Hum inside the filter is fitted
    between the pulses and subtracted. An edge is where half of the amplitude is reached; such a
    filter does not move a sharp edge there. For invented signals of 0 to 20 dB at 8 to 48 kHz the
    period is within 0.5 ms and the length within 2 ms of the truth
    (`tests/beacon/test_pulse_recording.py`). An echo lengthens a pulse; the length is then given as
    a range between the widths at 70 and at 30 % of the amplitude.
    """
    clipped = clipped_share(samples)
    reasons = [message("pulse.clipped", share=number(100 * clipped, 1))] if clipped > 1e-3 else []
    if len(samples) < LEAST_S * rate_hz:
        return PulseTimes(reasons=(*reasons, message("pulse.short", seconds=number(LEAST_S))))
    chosen = _channel(samples, rate_hz)
    if chosen is None:
        return PulseTimes(reasons=(*reasons, message("pulse.no_tone")))
    channel, pitches, keyed = chosen
    spectrum = spectrum_of(channel, rate_hz)
    found = _follow(spectrum, keyed.pitch_hz)
    level = _level(found)
    count = len(found.pulses.start_s)
    if found.decibel < LEAST_DB or not 2 <= count <= MOST_A_SECOND * spectrum.lasts_s:
        return PulseTimes(level=level, reasons=(*reasons, message("pulse.noisy")))
    told = PulseTimes(
        pitch_hz=keyed.pitch_hz, signal_to_noise_db=found.decibel, level=level, reasons=tuple(reasons)
    )
    return _timed(told, found, _Sound(spectrum=spectrum, pitches=pitches, keyed=keyed))


def _channel(
    samples: NDArray[np.float32], rate_hz: float
) -> tuple[NDArray[np.float32], Spectrogram, Keyed] | None:
    """The channel in which a tone is keyed most strongly."""
    best = None
    for k in range(samples.shape[1]):
        channel = samples[:, k] - samples[:, k].mean()
        if k and np.array_equal(samples[:, k], samples[:, 0]):
            continue
        pitches = spectrogram(channel, rate_hz)
        keyed = keyed_pitch(pitches)
        if keyed and (best is None or keyed.strength > best[2].strength):
            best = channel, pitches, keyed
    return best


def clipped_share(samples: NDArray[np.float32]) -> float:
    """Return the share of samples at the greatest value, counting only three or more in a row.

    A recording whose greatest value is below a twentieth of full scale does not count as clipped.
    """
    share = 0.0
    for k in range(samples.shape[1]):
        one = np.abs(samples[:, k])
        top = one >= 0.999999 * one.max() if len(one) and one.max() > 0.05 else np.zeros(len(one), bool)
        rows = top[:-2] & top[1:-1] & top[2:] if len(top) > 2 else top
        share = max(share, float(rows.mean()) if len(rows) else 0.0)
    return share


def _follow(spectrum: Spectrum, pitch_hz: float) -> _Found:
    """The tone through the fastest filter that keeps it clear of noise, with hum removed."""
    tone = tone_at(spectrum, pitch_hz, HALF_BANDS_HZ[0])
    found = _pulses(tone, HALF_BANDS_HZ[0])
    if not _even(found):
        calmer = _pulses(without_steady(tone), HALF_BANDS_HZ[0])
        found = calmer if _even(calmer) else found
    for half_band in HALF_BANDS_HZ:
        if half_band > HALF_BANDS_HZ[0] and half_band > 0.4 * pitch_hz:
            break
        quiet = _quiet(found)
        tone = without_hum(tone_at(spectrum, pitch_hz, half_band), quiet)
        tried = _pulses(tone, half_band, quiet)
        if half_band > HALF_BANDS_HZ[0] and (tried.decibel < QUIET_DB or not _even(tried)):
            break
        found = tried
    return found


def _even(found: _Found) -> bool:
    """Whether most of the pulses have one regular period, or might come from two sets."""
    middles = 0.5 * (found.pulses.start_s + found.pulses.end_s)
    if not 2 <= len(middles) <= MOST_A_SECOND * len(found.power) * STEP_S:
        return False
    return bool(beat_of(middles)[1].mean() > 0.4)


def _pulses(
    tone: NDArray[np.complex128],
    half_band_hz: float,
    quiet: NDArray[np.bool_] | None = None,
    beside: NDArray[np.bool_] | None = None,
) -> _Found:
    """The pulses of a tone. Noise is measured where it is `quiet`; nothing is sought `beside` these."""
    power = np.abs(tone) ** 2
    noise, on_power = two_levels(power if beside is None else power[~beside])
    if quiet is not None and quiet.sum() > 100:
        noise = float(power[quiet].mean())
    on_power = max(on_power - noise, 0.0)
    clean = power - noise
    if beside is not None:
        clean[beside] = 0.0
    pulses = pulses_in(clean, quarter=max(0.25 * on_power, 1e-300))
    return _Found(power=clean, noise=noise, on_power=on_power, half_band_hz=half_band_hz, pulses=pulses)


def _quiet(found: _Found) -> NDArray[np.bool_]:
    """Where there is neither a pulse nor the edge of one."""
    quiet = np.ones(len(found.power), bool)
    margin = 0.02
    for start, end in zip(found.pulses.start_s, found.pulses.end_s, strict=True):
        quiet[max(0, int((start - margin) / STEP_S)) : int((end + margin) / STEP_S) + 1] = False
    return quiet


def _level(found: _Found) -> tuple[float, ...]:
    step = round(TRACE_STEP_S / STEP_S)
    power = found.power[: len(found.power) // step * step].reshape(-1, step).mean(axis=1)
    level = np.sqrt(np.maximum(power, 0.0) / max(found.on_power, 1e-300))
    return tuple(float(one) for one in np.round(level, 3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sound:
    """The channel that is used: its transform, its pitches over time, and the keyed pitch."""

    spectrum: Spectrum
    pitches: Spectrogram
    keyed: Keyed


def _timed(told: PulseTimes, found: _Found, sound: _Sound) -> PulseTimes:
    """Period, length and jitter, unless a second set is heard."""
    near, chain = beat_of(0.5 * (found.pulses.start_s + found.pulses.end_s))
    if near <= 0.0 or chain.sum() < 2:
        return replace(told, reasons=(*told.reasons, message("pulse.no_beat")))
    one = found.pulses.only(chain)
    middles, lengths = 0.5 * (one.start_s + one.end_s), one.end_s - one.start_s
    period, error, steps = period_of(middles, near)
    shape = _shape(found, one)
    reasons = list(told.reasons)
    other = _second_beat(found, chain, sound, shape.tail_s, period)
    if other is not None and abs(other - period) > SAME_BEAT * period:
        reasons.append(message("pulse.two_sets", one=number(1e3 * period, 0), other=number(1e3 * other, 0)))
        return replace(told, other_period_s=other, reasons=tuple(reasons))
    if _alternate(one, period):
        return replace(told, reasons=(*reasons, message("pulse.alternate")))
    if len(lengths) < LEAST_PULSES:
        reasons.append(message("pulse.few", n=len(lengths), least=LEAST_PULSES))
    spread = float(np.std(lengths, ddof=1)) if len(lengths) > 2 else 0.005
    on = None
    if other is not None:
        reasons.append(message("pulse.second_in_step"))
    else:
        on, echo = _length(lengths, spread, shape)
        reasons += echo
    # Noise scatters a pulse's middle half as much as its length; a step has two middles.
    scatter = float(np.var(steps, ddof=1)) - 0.5 * spread**2 if len(steps) > 2 else None
    error = float(np.hypot(error, CLOCK_ERROR * period))
    return replace(
        told,
        period=Measure(value_s=period, error_s=error, low_s=period, high_s=period),
        on=on,
        jitter_s=None if scatter is None else max(scatter, 0.0) ** 0.5,
        starts_s=tuple(float(start) for start in one.start_s),
        reasons=tuple(reasons),
    )


def _length(lengths: Array, spread: float, shape: _Shape) -> tuple[Measure, list[Message]]:
    """The length of a pulse, with a note if there is an echo."""
    error = float(np.hypot(1.25 * spread / len(lengths) ** 0.5, 0.0005))
    on = float(np.median(lengths))
    if not shape.smeared:
        return Measure(value_s=on, error_s=error, low_s=on, high_s=on), []
    low, high = min(on, shape.narrow_s), max(on, shape.wide_s)
    words = message("pulse.echo", low=number(1e3 * low, 0), high=number(1e3 * high, 0))
    return Measure(value_s=on, error_s=error, low_s=low, high_s=high), [words]


def _alternate(pulses: Pulses, period: float) -> bool:
    """Whether every second pulse of a fast beat differs: two sets in turn, half a period apart."""
    if period > QUICK_S or len(pulses.power) < 6:
        return False
    power = pulses.power / pulses.power.mean()
    even, odd = power[0::2], power[1::2]
    error = float(np.hypot(np.std(even) / len(even) ** 0.5, np.std(odd) / len(odd) ** 0.5))
    apart = abs(float(even.mean() - odd.mean()))
    return apart > max(4.0 * error, 0.03)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shape:
    """The mean pulse: its widths at 70 and 30 % of its height, its tail, and whether it is smeared."""

    narrow_s: float
    wide_s: float
    tail_s: float
    smeared: bool


def _shape(found: _Found, pulses: Pulses) -> _Shape:
    """The mean of the pulses, aligned at their starts; an echo shows as a tail or an uneven top."""
    before, after = round(0.06 / STEP_S), round(0.6 / STEP_S)
    usual = float(np.median(pulses.end_s - pulses.start_s))
    first = np.round(pulses.start_s / STEP_S).astype(int)
    whole = first[(first >= before) & (first + after < len(found.power))]
    if not len(whole):
        return _Shape(narrow_s=usual, wide_s=usual, tail_s=0.03, smeared=False)
    mean = np.mean([found.power[at - before : at + after] for at in whole], axis=0)
    height = np.sqrt(np.maximum(mean, 0.0))
    inside = height[before + 10 : before + max(12, round(usual / STEP_S) - 10)]
    top = float(np.quantile(inside, 0.95))
    wide = _width(height, before, 0.3 * top)
    narrow = min(wide, float((height > 0.7 * top).sum()) * STEP_S)
    sigma = 1.1774 / (2.0 * pi * found.half_band_hz)
    smeared_by = wide - narrow - 2.0 * 1.0488 * sigma
    uneven = float(np.quantile(inside, 0.05)) < 0.7 * top
    faint = height[before + round(usual / STEP_S) :] < 0.1 * top
    tail = float(faint.argmax() if faint.any() else len(faint)) * STEP_S
    smeared = bool(uneven or smeared_by > max(0.006, 0.08 * usual))
    return _Shape(narrow_s=narrow, wide_s=wide, tail_s=tail + 0.02, smeared=smeared)


def _width(height: Array, before: int, level: float) -> float:
    """Width of the mean pulse at a level: from where it first exceeds the level until it stays below."""
    above = height > level
    start = before + 5
    while start > 0 and above[start]:
        start -= 1
    lasting = np.convolve(above, np.ones(40), "full")[39 : 39 + len(above)]
    gone = np.flatnonzero(lasting[before + 5 :] == 0)
    end = before + 5 + (int(gone[0]) if len(gone) else len(above) - before - 5)
    return (end - start) * STEP_S


def _second_beat(
    found: _Found, chain: NDArray[np.bool_], sound: _Sound, tail_s: float, period: float
) -> float | None:
    """The period of the pulses outside the chain, s; None if they are negligible."""
    rest = found.pulses.only(~chain)
    strong = rest.only(rest.power > SECOND_SET**2 * float(np.median(found.pulses.power[chain])))
    if len(strong.start_s) >= max(3, 0.25 * chain.sum()):
        return _beat_near(strong, period)
    frames = np.arange(len(sound.pitches.amplitude)) * HOP_S + 0.5 * WINDOW_S
    taken, within = np.zeros(len(frames), bool), np.zeros(len(found.power), bool)
    one = found.pulses.only(chain)
    for start, end in zip(one.start_s, one.end_s, strict=True):
        taken |= (frames > start - 0.03) & (frames < end + tail_s + 0.03)
        within[max(0, int((start - 0.03) / STEP_S)) : int((end + tail_s + 0.03) / STEP_S)] = True
    if taken.mean() > 0.8:
        return None
    other = keyed_pitch(sound.pitches, taken)
    if other is None or other.regular < 0.35 or other.strength < SECOND_SET**2 * sound.keyed.strength:
        return None
    tone = without_steady(tone_at(sound.spectrum, other.pitch_hz, HALF_BANDS_HZ[0]))
    heard = _pulses(tone, HALF_BANDS_HZ[0], beside=within)
    loud = heard.on_power > SECOND_SET**2 * found.on_power and heard.decibel > LEAST_DB
    return _beat_near(heard.pulses, period) if loud and _even(heard) else None


def _beat_near(pulses: Pulses, period: float) -> float:
    """The period of pulses; that of the first set if they are in step with it."""
    middles = 0.5 * (pulses.start_s + pulses.end_s)
    near, chain = beat_of(middles)
    if chain.sum() < 3:
        return 2.0 * period
    found = period_of(middles[chain], near)[0]
    whole = max(1, round(found / period))
    return period if abs(found - whole * period) < SAME_BEAT * whole * period else found
