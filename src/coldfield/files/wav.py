"""Sound in a WAV file: integers of 8 to 32 bits or floating point, one or more channels.

References
----------
.. [1] IBM and Microsoft, *Multimedia Programming Interface and Data Specifications 1.0* (1991): RIFF, the
   chunks `fmt ` and `data` (from memory).
.. [2] Microsoft, *Multiple channel audio data and WAVE files* (2001): format 0xFFFE, whose sub-format says
   what the samples are (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from struct import unpack_from

import numpy as np
from numpy.typing import NDArray

from coldfield.errors import BadInput
from coldfield.message import Message, message, number, size

MOST_BYTES = 64_000_000
"""Five minutes in stereo at 48 kHz and 16 bits take 58 MB. Setting."""

LEAST_RATE_HZ, MOST_RATE_HZ = 4_000, 192_000
MOST_CHANNELS = 8
LONGEST_S, MOST_FRAMES = 60.0, 6_000_000
"""How much of a recording is read; the rest is left out, with a note. Settings."""

_INTEGER, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_TO_THE_END = (0, 0xFFFFFFFF)
_OTHERS = (
    ((b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"BM"), "fault.wav_is_picture"),
    (
        (b"OggS", b"ID3", b"fLaC", b"\xff\xfb", b"\xff\xf3", b"\x1aE\xdf\xa3", b"caff", b"FORM"),
        "fault.wav_is_packed",
    ),
)
"""The first bytes of other files that people mistake for a recording, with a message for each."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """The sound in a file: `samples` (n, channels), full scale -1 to 1, `rate_hz` of them per second."""

    samples: NDArray[np.float32]
    rate_hz: float
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class _Form:
    code: int
    channels: int
    rate_hz: int
    bits: int


def read_wav(data: bytes, source: str) -> Recording:
    """Return the sound in a WAV file.

    A file that is cut off is read as far as it goes; of a long one only the first minute is read. `notes`
    says so in both cases.

    Raises
    ------
    BadInput
        If it is not a WAV file, contains compressed sound, or has nothing usable in it.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(message("fault.larger_than_recording", most=size(MOST_BYTES)), source)
    if data[:4] != b"RIFF" or data[8:12] != b"WAVE":
        raise BadInput(_something_else(data), source)
    form, notes = None, []
    for name, start, told in _chunks(data):
        if name == b"fmt " and form is None:
            form = _form(data[start : start + told], source)
        elif name == b"data":
            if form is None:
                raise BadInput(message("fault.wav_no_form"), source)
            there = len(data) - start
            if told in _TO_THE_END:
                told = there
            elif told > there:
                notes.append(message("note.wav_cut_off"))
            return _recording(data[start : start + told], form, notes, source)
    raise BadInput(message("fault.wav_no_sound" if form else "fault.wav_no_form"), source)


def _something_else(data: bytes) -> Message:
    if not data:
        return message("fault.empty")
    for beginnings, code in _OTHERS:
        if data.startswith(beginnings) or (code == "fault.wav_is_packed" and data[4:8] == b"ftyp"):
            return message(code)
    return message("fault.not_wav")


def _chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    """Yield the name, the start of the content, and the stated length of each chunk."""
    at = 12
    while at + 8 <= len(data):
        told = int(unpack_from("<I", data, at + 4)[0])
        yield data[at : at + 4], at + 8, told
        at += 8 + told + told % 2


def _form(chunk: bytes, source: str) -> _Form:
    if len(chunk) < 16:
        raise BadInput(message("fault.wav_no_form"), source)
    code, channels, rate_hz, _, step, bits = unpack_from("<HHIIHH", chunk)
    if code == _EXTENSIBLE and len(chunk) >= 26:
        code = int(unpack_from("<H", chunk, 24)[0])
    faults = []
    if (code, bits) not in _READERS:
        faults.append(message("fault.wav_samples", code=code, bits=bits))
    elif step != channels * bits // 8:
        faults.append(message("fault.wav_step", step=step, channels=channels, bits=bits))
    if not 1 <= channels <= MOST_CHANNELS:
        faults.append(message("fault.wav_channels", n=channels, most=MOST_CHANNELS))
    if not LEAST_RATE_HZ <= rate_hz <= MOST_RATE_HZ:
        low, high = number(LEAST_RATE_HZ), number(MOST_RATE_HZ)
        faults.append(message("fault.wav_rate", rate=number(rate_hz), low=low, high=high))
    if faults:
        raise BadInput(faults, source)
    return _Form(code, channels, rate_hz, bits)


def _recording(data: bytes, form: _Form, notes: list[Message], source: str) -> Recording:
    step = form.channels * form.bits // 8
    most = min(int(LONGEST_S * form.rate_hz), MOST_FRAMES)
    count = len(data) // step
    if count > most:
        notes.append(message("note.wav_first_part", seconds=number(most / form.rate_hz, 0)))
    if not count:
        raise BadInput(message("fault.wav_no_sound"), source)
    flat = _READERS[form.code, form.bits](data[: min(count, most) * step])
    if not np.isfinite(flat).all():
        raise BadInput(message("fault.wav_not_finite"), source)
    return Recording(samples=flat.reshape(-1, form.channels), rate_hz=float(form.rate_hz), notes=tuple(notes))


def _int8(data: bytes) -> NDArray[np.float32]:
    # Only eight-bit samples are unsigned: 128 is silence.
    return (np.frombuffer(data, np.uint8).astype(np.float32) - np.float32(128.0)) / np.float32(128.0)


def _int16(data: bytes) -> NDArray[np.float32]:
    return np.frombuffer(data, "<i2").astype(np.float32) / np.float32(2.0**15)


def _int24(data: bytes) -> NDArray[np.float32]:
    three = np.frombuffer(data, np.uint8).reshape(-1, 3)
    whole = np.zeros((len(three), 4), np.uint8)
    # In the upper three bytes the sign is in the right place.
    whole[:, 1:] = three
    return whole.reshape(-1).view("<i4").astype(np.float32) / np.float32(2.0**31)


def _int32(data: bytes) -> NDArray[np.float32]:
    return np.frombuffer(data, "<i4").astype(np.float32) / np.float32(2.0**31)


def _float32(data: bytes) -> NDArray[np.float32]:
    return _bounded(np.frombuffer(data, "<f4"))


def _float64(data: bytes) -> NDArray[np.float32]:
    return _bounded(np.frombuffer(data, "<f8"))


def _bounded(values: NDArray[np.floating]) -> NDArray[np.float32]:
    """Limit floating point samples: nothing beyond 1000 times full scale is sound."""
    with np.errstate(invalid="ignore", over="ignore"):
        return np.where(np.abs(values) <= 1000.0, values, np.nan).astype(np.float32)


_READERS = {
    (_INTEGER, 8): _int8,
    (_INTEGER, 16): _int16,
    (_INTEGER, 24): _int24,
    (_INTEGER, 32): _int32,
    (_FLOAT, 32): _float32,
    (_FLOAT, 64): _float64,
}
"""How samples are read, by format code and number of bits."""
