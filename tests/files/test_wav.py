"""The reader of WAV files compared with a library's writer, and what it refuses."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.io import wavfile

from coldfield.errors import BadInput
from coldfield.files.wav import MOST_BYTES, read_wav
from wav_files import WAV_FORMS, wav_file


@pytest.mark.parametrize("kind", [np.uint8, np.int16, np.int32, np.float32, np.float64])
@pytest.mark.parametrize("channels", [1, 2])
def test_independent_route_what_scipy_writes_is_read_back(kind: type, channels: int) -> None:
    sound = np.random.default_rng(4).uniform(-0.9, 0.9, (3000, channels))
    scale = {np.uint8: 128, np.int16: 2**15, np.int32: 2**31}.get(kind, 1)
    written = (sound * scale + (128 if kind is np.uint8 else 0)).astype(kind)
    file = io.BytesIO()
    wavfile.write(file, 22_050, written if channels > 1 else written[:, 0])
    read = read_wav(file.getvalue(), "a.wav")
    assert read.rate_hz == 22_050
    np.testing.assert_allclose(read.samples, sound, atol=1.01 / scale if scale > 1 else 1e-6)


@given(
    form=st.sampled_from(WAV_FORMS),
    extensible=st.booleans(),
    rate=st.sampled_from([8000, 44_100, 48_000, 96_000]),
    seed=st.integers(0, 1000),
)
def test_property_every_form_gives_back_what_was_stored(
    form: tuple[int, int, int], extensible: bool, rate: int, seed: int
) -> None:
    bits, channels = form[1:]
    sound = np.random.default_rng(seed).uniform(-1, 0.99, (50, channels))
    read = read_wav(wav_file(*form, rate=rate, sound=sound, extensible=extensible), "a.wav")
    assert read.samples.shape == (50, channels)
    np.testing.assert_allclose(read.samples, sound, atol=0.6 / 2 ** (min(bits, 24) - 1) + 1e-7)


FORM = struct.pack("<HHIIHH", 1, 1, 8000, 16_000, 2, 16)


def with_form(form: bytes, data: bytes = b"\x00\x01" * 50) -> bytes:
    parts = b"fmt " + struct.pack("<I", len(form)) + form + b"data" + struct.pack("<I", len(data)) + data
    return b"RIFF" + struct.pack("<I", 4 + len(parts)) + b"WAVE" + parts


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"\x89PNG\r\n\x1a\n" + b"\x00" * 50, "is a picture"),
        (b"\xff\xd8\xff\xe0" + b"\x00" * 50, "is a picture"),
        (b"OggS" + b"\x00" * 50, "another format"),
        (b"\x00\x00\x00\x18ftypM4A ", "another format"),
        (b"time,split\n", "is not a WAV recording"),
        (b"RIFF\x04\x00\x00\x00WAVE", "does not say how"),
        (with_form(FORM, b""), "without sound"),
        (with_form(struct.pack("<HHIIHH", 6, 1, 8000, 8000, 1, 8)), "format 6, 8 bits"),
        (with_form(struct.pack("<HHIIHH", 1, 1, 8000, 16_000, 3, 16)), "contradicts itself"),
        (with_form(struct.pack("<HHIIHH", 1, 0, 8000, 0, 0, 16)), "has 0 channels"),
        (with_form(struct.pack("<HHIIHH", 1, 1, 100, 200, 2, 16)), "4,000 to 192,000"),
        (
            with_form(
                struct.pack("<HHIIHH", 3, 1, 8000, 32_000, 4, 32), struct.pack("<ff", 0.1, float("nan"))
            ),
            "not numbers",
        ),
        (b"RIFF" + b"\x00" * (MOST_BYTES + 1), "larger than"),
    ],
)
def test_contract_what_is_no_recording_is_refused_in_one_line(data: bytes, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_wav(data, "a.wav")
    assert words in str(caught.value)
    assert str(caught.value).startswith("a.wav: ")
    assert "\n" not in str(caught.value)


def test_contract_a_cut_file_is_read_as_far_as_it_goes_and_a_stream_to_its_end() -> None:
    whole = wav_file(1, 16, 1, samples=1000)
    cut = read_wav(whole[:-1000], "a.wav")
    assert len(cut.samples) == 500
    assert [note.code for note in cut.notes] == ["note.wav_cut_off"]
    at = whole.index(b"data") + 4
    streamed = read_wav(whole[:at] + b"\xff\xff\xff\xff" + whole[at + 4 :], "a.wav")
    assert len(streamed.samples) == 1000
    assert not streamed.notes


def test_contract_of_a_long_recording_the_first_minute_is_read() -> None:
    read = read_wav(wav_file(1, 8, 1, samples=8000 * 61), "a.wav")
    assert len(read.samples) == 8000 * 60
    assert [note.code for note in read.notes] == ["note.wav_first_part"]
