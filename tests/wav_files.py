"""Synthetic recordings with known pulses, and files for them."""

from __future__ import annotations

import struct

import numpy as np
from numpy.typing import NDArray

WAV_FORMS = ((1, 8, 1), (1, 16, 1), (1, 24, 2), (1, 32, 1), (3, 32, 2), (3, 64, 1))
"""Code, bits and channels of each supported sound format."""


def wav_file(
    code: int = 1,
    bits: int = 16,
    channels: int = 1,
    *,
    rate: int = 8000,
    samples: int = 400,
    sound: NDArray[np.floating] | None = None,
    extensible: bool = False,
    before: bytes = b"LIST\x04\x00\x00\x00abcd",
) -> bytes:
    """Return a WAV file: `sound` (n, channels), -1 to 1, else `samples` of a ramp."""
    if sound is None:
        ramp = np.arange(samples * channels, dtype=np.float32).reshape(-1, channels)
        sound = (ramp % 200) / 100 - 1
    data = stored(sound, code, bits)
    step = channels * bits // 8
    form = struct.pack("<HHIIHH", 0xFFFE if extensible else code, channels, rate, rate * step, step, bits)
    if extensible:
        form += struct.pack(
            "<HHIH14s", 22, bits, 0, code, b"\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"
        )
    body = b"WAVE" + before + b"fmt " + struct.pack("<I", len(form)) + form
    body += b"data" + struct.pack("<I", len(data)) + data
    return b"RIFF" + struct.pack("<I", len(body)) + body


def stored(sound: NDArray[np.floating], code: int, bits: int) -> bytes:
    """Return samples in their stored form."""
    flat = np.clip(np.asarray(sound, dtype=np.float64).reshape(-1), -1, 1)
    if code == 3:
        return flat.astype(f"<f{bits // 8}").tobytes()
    if bits == 8:
        return np.clip(np.round(flat * 128) + 128, 0, 255).astype(np.uint8).tobytes()
    whole = np.clip(np.round(flat * 2.0 ** (bits - 1)), -(2.0 ** (bits - 1)), 2.0 ** (bits - 1) - 1)
    four = whole.astype("<i4").view(np.uint8).reshape(-1, 4)
    return four[:, : bits // 8].tobytes()


def pulses(
    rate: int = 44_100,
    *,
    period_s: float = 1.0,
    on_s: float = 0.09,
    pitch_hz: float = 900.0,
    decibel: float = 10.0,
    seconds: float = 20.0,
    seed: int = 0,
    jitter_s: float = 0.0,
    hum: float = 0.0,
    first_s: float = 0.3,
    height: float = 0.2,
) -> NDArray[np.float64]:
    """Return the sound of a keyed tone, shape (n,), with white noise `decibel` below it in the whole band.

    `hum` is the height of mains hum with 18 harmonics, as a share of the tone.
    """
    rng = np.random.default_rng(seed)
    at = np.arange(int(seconds * rate)) / rate
    steps = period_s + jitter_s * rng.standard_normal(int(seconds / period_s) + 2)
    key = np.zeros(len(at))
    for start in first_s + np.concatenate([[0.0], np.cumsum(steps)]):
        key[(at >= start) & (at < start + on_s)] = 1.0
    noise = np.sqrt(0.5 * height**2 / 10 ** (decibel / 10)) * rng.standard_normal(len(at))
    mains = sum(np.sin(2 * np.pi * 50 * k * at + k) / k for k in range(1, 20))
    return np.asarray(height * (key * np.sin(2 * np.pi * pitch_hz * at) + hum * mains) + noise)
