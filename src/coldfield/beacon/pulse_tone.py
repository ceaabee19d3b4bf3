"""The keyed tone in a sound recording: its pitch, and how strong it is over time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WINDOW_S, HOP_S = 0.02, 0.005
"""Windows of the spectrogram. Settings: shorter than a pulse, long enough to tell pitches apart."""

LOWEST_HZ = 90.0
"""Hum and handling noise lie below this; no tone is sought there. Setting."""

SHORTEST_BEAT_S, LONGEST_BEAT_S = 0.3, 2.6
"""Range of periods that are sought: well beyond the 0.5 to 1.3 s of the standards. Settings."""

LEAST_BEAT = 0.2
"""Least autocorrelation at the beat for a pitch to count as keyed. Setting; noise alone stays below 0.12."""

STEP_S = 0.0005
"""Step of the strength over time."""

_SMOOTH = np.hanning(10)[1:-1] / np.hanning(10).sum()
"""40 ms of amplitude. This removes the beat of 50 or 60 Hz between two lines of hum in one window."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spectrogram:
    """Amplitude (frames, pitches) of a recording, and the pitches, Hz."""

    amplitude: NDArray[np.float32]
    pitch_hz: NDArray[np.floating]


@dataclass(frozen=True, slots=True, kw_only=True)
class Keyed:
    """A pitch that comes and goes: its period, s, its regularity (0 to 1), and its strength (mean square)."""

    pitch_hz: float
    beat_s: float
    regular: float
    strength: float


def spectrogram(samples: NDArray[np.float32], rate_hz: float) -> Spectrogram:
    """Return the amplitude of each pitch over time; `samples` (n,), at least one window."""
    width, hop = round(WINDOW_S * rate_hz), round(HOP_S * rate_hz)
    frames = np.lib.stride_tricks.sliding_window_view(samples, width)[::hop]
    window = np.hanning(width + 1)[:-1].astype(np.float32)
    pitch = np.fft.rfftfreq(width, 1.0 / rate_hz)
    wanted = pitch >= LOWEST_HZ
    amplitude = np.empty((len(frames), int(wanted.sum())), np.float32)
    for first in range(0, len(frames), 500):
        part = frames[first : first + 500] * window
        amplitude[first : first + 500] = np.abs(np.fft.rfft(part, axis=1)[:, wanted]) / (0.5 * width)
    return Spectrogram(amplitude=amplitude, pitch_hz=pitch[wanted])


def keyed_pitch(found: Spectrogram, left_out: NDArray[np.bool_] | None = None) -> Keyed | None:
    """Return the strongest pitch that comes and goes regularly; None if there is none.

    Parameters
    ----------
    found : Spectrogram
        Long enough for at least three periods.
    left_out : ndarray of bool, shape (frames,), optional
        Frames to treat as quiet: those of pulses found before.

    Notes
    -----
    For each pitch the autocovariance of its amplitude is computed over the lags of a period. For
    noise and hum it is zero there, however strong they are; for a keyed tone it is nearly the full
    variance.
    """
    count = len(found.amplitude)
    first, last = round(SHORTEST_BEAT_S / HOP_S), min(round(LONGEST_BEAT_S / HOP_S), count // 2)
    if last <= first:
        return None
    covariance = np.concatenate(
        [
            _autocovariance(_silenced(found.amplitude[:, at : at + 32], left_out), last)
            for at in range(0, found.amplitude.shape[1], 32)
        ],
        axis=1,
    )
    lags = covariance[first:]
    best = lags.argmax(axis=0)
    at_beat = np.take_along_axis(lags, best[None], axis=0)[0]
    regular = at_beat / np.maximum(covariance[0], 1e-300)
    score = np.where(regular >= LEAST_BEAT, at_beat, 0.0)
    pitch = int(score.argmax())
    if score[pitch] <= 0.0:
        return None
    return Keyed(
        pitch_hz=_between(found.pitch_hz, score, pitch),
        beat_s=float((first + best[pitch]) * HOP_S),
        regular=float(regular[pitch]),
        strength=float(score[pitch]),
    )


def _silenced(amplitude: NDArray[np.float32], left_out: NDArray[np.bool_] | None) -> Array:
    """Amplitudes minus their mean; frames that are left out get the median of the rest."""
    signals = np.apply_along_axis(np.convolve, 0, amplitude.astype(np.float64), _SMOOTH, "same")
    if left_out is not None and not left_out.all():
        signals[left_out] = np.median(signals[~left_out], axis=0)
    return np.asarray(signals - signals.mean(axis=0))


def _autocovariance(signals: Array, lags: int) -> Array:
    """Autocovariance of each column, (lags, columns), each lag divided by its number of pairs."""
    count = len(signals)
    size = 1 << (count + lags).bit_length()
    spectrum = np.fft.rfft(signals, size, axis=0)
    pairs = np.arange(count, count - lags, -1)[:, None]
    return np.asarray(np.fft.irfft(np.abs(spectrum) ** 2, size, axis=0)[:lags] / pairs)


def _between(pitch_hz: NDArray[np.floating], weight: Array, at: int) -> float:
    """The pitch between the bins: the weighted mean round the strongest one."""
    near = slice(max(0, at - 1), at + 2)
    return float(np.average(pitch_hz[near], weights=np.maximum(weight[near], 1e-300)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spectrum:
    """The transform of a whole recording, `seconds` long with zeros appended; `lasts_s` of it are sound."""

    bins: NDArray[np.complex128]
    seconds: int
    lasts_s: float


def spectrum_of(samples: NDArray[np.float32], rate_hz: float) -> Spectrum:
    """Return the transform of a recording, from which `tone_at` takes its bands."""
    lasts = len(samples) / rate_hz
    seconds = int(lasts) + 2
    bins = np.fft.rfft(samples.astype(np.float64), round(seconds * rate_hz)) / rate_hz
    return Spectrum(bins=bins, seconds=seconds, lasts_s=lasts)


def tone_at(found: Spectrum, pitch_hz: float, half_band_hz: float) -> NDArray[np.complex128]:
    """Return the tone as amplitude and phase over time, `STEP_S` apart, through a Gaussian filter.

    The filter halves the amplitude at `half_band_hz` from its centre. One transform turns the bins of
    1 kHz on each side into a signal with that step; nothing is resampled.
    """
    steps = round(found.seconds / STEP_S)
    middle = round(pitch_hz * found.seconds)
    k = np.arange(steps) - steps // 2
    taken = middle + k
    there = (taken > 0) & (taken < len(found.bins))
    gain = np.exp(-0.5 * ((taken / found.seconds - pitch_hz) / (half_band_hz / 1.1774)) ** 2)
    band = np.where(there, found.bins[np.where(there, taken, 0)], 0.0) * gain * 2.0 / STEP_S
    tone = np.fft.ifft(np.fft.ifftshift(band))
    return np.asarray(tone[: int(found.lasts_s / STEP_S)])


def without_hum(tone: NDArray[np.complex128], quiet: NDArray[np.bool_]) -> NDArray[np.complex128]:
    """Subtract up to six lines that are always there, fitted where the keyed tone is silent.

    Parameters
    ----------
    tone : ndarray of complex, shape (n,)
        The result of `tone_at`.
    quiet : ndarray of bool, shape (n,)
        True where the keyed tone is silent.
    """
    if quiet.sum() < 400:
        return tone
    at = np.arange(len(tone)) * STEP_S
    for _ in range(6):
        wave, height = _line(np.where(quiet, tone, 0.0), at)
        height *= len(tone) / float(quiet.sum())
        if abs(height) ** 2 < 0.2 * float(np.mean(np.abs(tone[quiet]) ** 2)):
            break
        tone = tone - height * wave
    return tone


def without_steady(tone: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Subtract lines that last more than half of the time, before it is known where the tone is silent.

    For the search, all amplitudes are limited to the median, so that a tone present for less than half
    of the time counts little. A line's amplitude is the median over blocks of a tenth of a second.
    """
    at = np.arange(len(tone)) * STEP_S
    block = round(0.1 / STEP_S)
    for _ in range(6):
        middle = float(np.median(np.abs(tone)))
        wave, _ = _line(tone * np.minimum(1.0, middle / np.maximum(np.abs(tone), 1e-300)), at)
        blocks = (tone * wave.conj())[: len(tone) // block * block].reshape(-1, block).mean(axis=1)
        height = complex(np.median(blocks.real), np.median(blocks.imag))
        if abs(height) < 0.2 * middle:
            break
        tone = tone - height * wave
    return tone


def _line(tone: NDArray[np.complex128], at: NDArray[np.floating]) -> tuple[NDArray[np.complex128], complex]:
    """The strongest line in a signal: its wave with amplitude 1, and its amplitude."""
    size = 1 << (2 * len(tone)).bit_length()
    spectrum = np.abs(np.fft.fft(tone, size))
    k = int(spectrum.argmax())
    left, top, right = (float(spectrum[(k + d) % size]) for d in (-1, 0, 1))
    between = 0.5 * (left - right) / min(left - 2.0 * top + right, -1e-300)
    hertz = (float(np.fft.fftfreq(size, STEP_S)[k])) + between / (size * STEP_S)
    wave = np.exp(2j * np.pi * hertz * at)
    return wave, complex(np.mean(tone * wave.conj()))
