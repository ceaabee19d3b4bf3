"""Find a person in a stored file, whatever its encoding, and remove their name where possible."""

from __future__ import annotations

import codecs
import gzip
import io
import re
import unicodedata
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal

from coldfield.files.places import line
from coldfield.files.track_file import read_track_file
from coldfield.files.zip_guard import DAMAGE
from coldfield.message import Message, message
from coldfield.records.forget.names import Wanted, without
from coldfield.words import say

MOST_UNPACKED_BYTES = 64_000_000
"""How much of an archive is unpacked to be searched; the rest is reported. Setting."""

MOST_MEMBERS = 1000
LEAST_RAW = 4
"""Shorter names occur by chance in binary data; they are not searched for there. Setting."""

_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_NORMAL_FORMS: tuple[Literal["NFC", "NFD"], ...] = ("NFC", "NFD")
_DECLARED = re.compile(rb"""^\s*<\?xml[^>]{0,200}encoding\s*=\s*["']([A-Za-z0-9._-]{1,40})["']""")
_CONTROLS = re.compile(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f]")


@dataclass(frozen=True, slots=True)
class Mention:
    """A place in a file where a person is named, or may be."""

    place: Message
    sure: bool


@dataclass(frozen=True, slots=True)
class _Text:
    text: str
    encoding: str
    mark: bytes


def mentions(content: bytes, wanted: Wanted) -> list[Mention]:
    """Return where a file names the person, or may: by line, by member, or somewhere in its bytes.

    Parameters
    ----------
    content : bytes
        The file: text in any of the usual encodings, zip, gzip, FIT, or any other bytes.
    wanted : Wanted
        The person.
    """
    told = {(say(one.place), one.sure): one for one in _mentions(content, wanted, inside=False)}
    return list(told.values())


def _mentions(content: bytes, wanted: Wanted, *, inside: bool) -> Iterator[Mention]:
    if content[:4] in (b"PK\x03\x04", b"PK\x05\x06") and not inside:
        yield from _in_archive(content, wanted)
        return
    if content[:2] == b"\x1f\x8b" and not inside:
        yield from _in_gzip(content, wanted)
        return
    told = _decoded(content)
    if told is None:
        yield from _in_bytes(content, wanted)
        return
    for hit in wanted.hits(told.text):
        yield Mention(line(told.text.count(chr(10), 0, hit.start) + 1), hit.sure)


def _in_archive(content: bytes, wanted: Wanted) -> Iterator[Mention]:
    left = MOST_UNPACKED_BYTES
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            yield from _in_bytes(archive.comment, wanted)
            members = archive.infolist()
            for number, member in enumerate(members, start=1):
                of = str(number)
                if left <= 0 or number > MOST_MEMBERS:
                    yield Mention(message("place.not_searched", n=of), False)
                    return
                for hit in wanted.hits(member.filename):
                    yield Mention(message("place.member_name", n=of), hit.sure)
                with archive.open(member) as file:
                    data = file.read(left + 1)
                if len(data) > left:
                    yield Mention(message("place.member_too_large", n=of), False)
                left -= len(data)
                for one in _mentions(data, wanted, inside=True):
                    yield Mention(message("place.in_member", n=of, place=one.place), one.sure)
    except DAMAGE:
        yield Mention(message("place.cannot_be_unpacked"), False)


def _in_gzip(content: bytes, wanted: Wanted) -> Iterator[Mention]:
    try:
        with gzip.open(io.BytesIO(content)) as file:
            data = file.read(MOST_UNPACKED_BYTES)
    except DAMAGE:
        yield Mention(message("place.cannot_be_unpacked"), False)
        return
    yield from _in_bytes(content[:512], wanted)
    yield from _mentions(data, wanted, inside=True)


def _in_bytes(content: bytes, wanted: Wanted) -> Iterator[Mention]:
    if content[8:12] == b".FIT":
        yield from _in_fit(content, wanted)
    pattern = raw_pattern(wanted)
    if pattern is not None and pattern.search(content):
        yield Mention(message("place.bytes"), True)


def _in_fit(content: bytes, wanted: Wanted) -> Iterator[Mention]:
    """Search the texts of a FIT file at the places given by its definition messages."""
    import fitdecode

    try:
        with (
            warnings.catch_warnings(),
            fitdecode.FitReader(
                io.BytesIO(content),
                check_crc=fitdecode.CrcCheck.DISABLED,
                error_handling=fitdecode.ErrorHandling.IGNORE,
            ) as reader,
        ):
            warnings.simplefilter("ignore")
            for frame in reader:
                if frame.frame_type != fitdecode.FIT_FRAME_DATA:
                    continue
                for told in frame.fields:
                    values = told.value if isinstance(told.value, (list, tuple)) else [told.value]
                    for value in values:
                        if isinstance(value, str):
                            for hit in wanted.hits(value):
                                yield Mention(message("place.field", name=str(told.name)), hit.sure)
    except Exception:  # a damaged file can break the decoder in many ways; its bytes are searched too
        return


def raw_pattern(wanted: Wanted) -> re.Pattern[bytes] | None:
    """Return the pattern of a name in binary data: UTF-8, UTF-16 and Latin-1, composed or not.

    None for names that are so short that they occur by chance.
    """
    if sum(letter.isalnum() for letter in wanted.name) < LEAST_RAW:
        return None
    words = wanted.name.split()
    forms: set[bytes] = set()
    for encoding, normal in product(("utf-8", "utf-16-le", "utf-16-be", "latin-1"), _NORMAL_FORMS):
        for cased in (str, str.upper, str.lower, str.title):
            try:
                parts = [unicodedata.normalize(normal, cased(word)).encode(encoding) for word in words]
            except UnicodeEncodeError:
                continue
            joins = (" ", "_", "-", ".", "  ", "")
            between = b"(?:" + b"|".join(re.escape(one.encode(encoding)) for one in joins) + b")"
            forms.add(between.join(map(re.escape, parts)))
    return re.compile(b"|".join(sorted(forms)), re.IGNORECASE)


def cleaned(content: bytes, file_name: str, wanted: Wanted) -> bytes | None:
    """Return a text file with other words in place of the person's name, where it is certain.

    None if the file is not text, or if its content would no longer be read as before.

    Parameters
    ----------
    content, file_name : bytes, str
        The file.
    wanted : Wanted
        The person.
    """
    told = None if content[:4] in (b"PK\x03\x04", b"PK\x05\x06") else _decoded(content)
    if told is None:
        return None
    text = without(told.text, wanted.hits(told.text))
    try:
        changed = told.mark + text.encode(told.encoding)
    except UnicodeEncodeError:
        return None
    return changed if _shape(changed, file_name) == _shape(content, file_name) else None


def _shape(content: bytes, file_name: str) -> list[object]:
    """Return what must stay the same in a track file: the number of tracks, points and faults."""
    tracks, faults = read_track_file(content, file_name)
    return [*((one.unix_s.tobytes(), one.place.tobytes()) for one in tracks), len(faults)]


def _decoded(content: bytes) -> _Text | None:
    """Return a file's text and its encoding; None if it is not text."""
    for mark, encoding in _BOMS:
        if content.startswith(mark):
            return _as(content[len(mark) :], encoding, mark)
    if content.isascii() and not _CONTROLS.search(content, 0, 4096):
        return _as(content, "ascii", b"")
    wide = _wide(content[:4096])
    if wide:
        return _as(content, wide, b"")
    declared = _DECLARED.match(content[:400])
    for encoding in (declared[1].decode() if declared else "utf-8", "utf-8"):
        told = _as(content, encoding, b"")
        if told is not None and "\x00" not in told.text[:4096]:
            return told
    if len(_CONTROLS.findall(content, 0, 4096)) > 0:
        return None
    return _as(content, "cp1252", b"") or _as(content, "latin-1", b"")


def _as(content: bytes, encoding: str, mark: bytes) -> _Text | None:
    try:
        return _Text(content.decode(encoding), encoding, mark)
    except (UnicodeError, LookupError, ValueError):
        return None


def _wide(start: bytes) -> str | None:
    """Return the byte order of UTF-16 without a mark, from the places of its zeros; None for neither."""
    even, odd = start[::2].count(0), start[1::2].count(0)
    half = max(len(start) // 2, 1)
    if odd > 0.4 * half and even < 0.05 * half:
        return "utf-16-le"
    return "utf-16-be" if even > 0.4 * half and odd < 0.05 * half else None
