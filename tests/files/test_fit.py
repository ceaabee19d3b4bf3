"""The FIT reader compared with a library that decodes complete files."""

from __future__ import annotations

import io
import struct

import fitdecode
import numpy as np
import pytest

from coldfield.errors import BadInput
from coldfield.files.fit import EPOCH_UNIX_S, SEMICIRCLES, crc_of, read_fit
from coldfield.words import say
from fit_files import RECORD, crc16, definition, fit_file
from recorded_tracks import DATA

WHOLE = sorted(DATA.glob("*/*.fit"))
START = 1_140_000_000


def by_fitdecode(data: bytes) -> list[tuple[float, int, int]]:
    """Return time, latitude and longitude of each record with a place, in semicircles."""
    found = []
    with fitdecode.FitReader(io.BytesIO(data), check_crc=fitdecode.CrcCheck.RAISE) as reader:
        for frame in reader:
            if frame.frame_type == fitdecode.FIT_FRAME_DATA and frame.name == "record":
                told = {field.name: field.value for field in frame.fields}
                if told.get("position_lat") is not None and told.get("position_long") is not None:
                    stamp = told["timestamp"]
                    found.append((stamp.timestamp(), told["position_lat"], told["position_long"]))
    return found


def assert_as_fitdecode(data: bytes) -> None:
    theirs = np.array(by_fitdecode(data))
    (ours,) = read_fit(data, "a.fit")
    np.testing.assert_array_equal(ours.unix_s, theirs[:, 0])
    np.testing.assert_allclose(ours.place, theirs[:, 1:] * np.pi / SEMICIRCLES, rtol=1e-15)


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.name)
def test_independent_route_fitdecode_reads_the_same_records(path) -> None:
    data = path.read_bytes()
    if by_fitdecode(data):
        assert_as_fitdecode(data)
    else:
        with pytest.raises(BadInput, match="contains no position"):
            read_fit(data, "a.fit")


@pytest.mark.parametrize("big", [False, True])
def test_independent_route_both_byte_orders_compressed_times_and_developer_fields(big: bool) -> None:
    layout = ">" if big else "<"
    body = definition(20, *RECORD, local=1, big=big)
    body += b"\x01" + struct.pack(layout + "Iii", START, 100, 200)
    # A record with its time in the header: five bits that continue the time before.
    body += definition(20, *RECORD[1:], local=2, big=big)
    for k in range(80):
        body += bytes([0x80 | 2 << 5 | (START + k) & 0x1F]) + struct.pack(layout + "ii", 300 + k, -400)
    # Three more bytes of developer fields, and a message of another kind in between.
    body += definition(207, (3, 1, 2), local=0, big=big) + b"\x00\x00"
    body += definition(206, (0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 4, 7), local=0, big=big)
    body += b"\x00\x00\x00\x02abc\x00"
    body += definition(20, *RECORD, local=3, big=big, developer=b"\x01\x00\x01\x00")
    body += b"\x03" + struct.pack(layout + "Iii", START + 99, 5, 6) + b"\x07"
    body += b"\x03" + struct.pack(layout + "Iii", START + 100, 0x7FFFFFFF, 6) + b"\x07"
    data = fit_file(body)
    assert_as_fitdecode(data)
    (one,) = read_fit(data, "a.fit")
    assert [say(note) for note in one.notes] == ["1 record without a position"]
    assert one.unix_s[-1] == EPOCH_UNIX_S + START + 99


def test_independent_route_two_files_in_a_row_are_read_as_one() -> None:
    body = definition(20, *RECORD) + b"\x00" + struct.pack("<Iii", START, 1, 2)
    assert_as_fitdecode(fit_file(body) + fit_file(body))


@pytest.mark.parametrize("size", [0, 1, 9, 4096, 65_535, 65_536, 70_001, 200_000])
def test_independent_route_the_checksum_is_that_of_its_definition(size: int) -> None:
    data = np.random.default_rng(size).integers(0, 256, size, dtype=np.uint8).tobytes()
    assert crc_of(data) == crc16(data)


def test_from_memory_checksum_of_the_nine_digits() -> None:
    # The check value of CRC-16/ARC in R. Cook's catalogue of parametrised CRC algorithms (from memory).
    assert crc_of(b"123456789") == 0xBB3D


def test_contract_seconds_since_switching_on_are_no_time() -> None:
    body = definition(20, *RECORD) + b"".join(
        b"\x00" + struct.pack("<Iii", t, 1, 2) for t in (5, 0xFFFFFFFF, START)
    )
    (one,) = read_fit(fit_file(body), "a.fit")
    assert np.isnan(one.unix_s).tolist() == [True, True, False]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\x0e\x20\x00\x00\x00\x00\x00\x00.GIF" + bytes(8), "it has no FIT header"),
        (fit_file(b"")[:-1], "it is cut off"),
        (fit_file(definition(20, *RECORD))[:-3] + b"abc", "its checksum is wrong"),
        (fit_file(b"\x05abc"), "nothing in it defines message 1"),
        (fit_file(definition(20, *RECORD) + b"\x00abc"), "it is cut off"),
        (fit_file(definition(20, *RECORD)[:-2]), "it is cut off"),
        (fit_file(b""), "contains no position"),
    ],
)
def test_contract_a_damaged_file_is_one_clear_line(data: bytes, words: str) -> None:
    with pytest.raises(BadInput, match=words) as caught:
        read_fit(data, "a.fit")
    assert len(caught.value.lines()) == 1
