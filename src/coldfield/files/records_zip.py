"""The open archive of all records: a zip with JSON, CSV and the tracks as they came (GPX and others).

The most important member is ``manifest.json``; ``docs/export_format.md`` explains the rest. The
manifest lists every member with its SHA-256, so a damaged or altered archive is noticed.
"""

from __future__ import annotations

import json
import zipfile
from codecs import getincrementaldecoder
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from hashlib import sha256
from typing import IO, Any

from coldfield.errors import BadInput
from coldfield.files.json_text import decode_text, each_value, parse_json
from coldfield.files.zip_guard import open_zip, pieces
from coldfield.message import message, size

FORMAT = "coldfield-records/1"
MOST_MEMBERS = 200_000
MOST_TOTAL_BYTES = 8_000_000_000

MOST_FILE_BYTES = 100_000_000
"""The largest file stored in its original form, and more than any list of records takes in memory."""

MOST_LIST_BYTES = 1_000_000_000
"""The largest list of records; it is read row by row."""

MOST_DOCUMENT_BYTES = 64_000_000
MOST_VALUES = 2_000_000
"""Most values in one JSON document: four times those of a four-hour run with twelve people. Setting."""

MOST_TIMES = 3
"""How often one member may be read: a drill's newest version is read twice, all others once."""

MOST_ENTRY = 4_000_000
"""Length of the longest entry of a list, in characters. Setting."""

_EARLIEST = (1980, 1, 1, 0, 0, 0)


class ArchiveWriter:
    """Write an archive member by member; `close` writes the manifest.

    Parameters
    ----------
    file : binary file
        The target; it need not be seekable to its start.
    """

    def __init__(self, file: IO[bytes]) -> None:
        self._zip = zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=6)
        self._sums: dict[str, str] = {}

    def add(self, name: str, data: bytes) -> None:
        """Add one member."""
        self._sums[name] = sha256(data).hexdigest()
        self._write(name, data)

    def add_json(self, name: str, value: Any) -> None:
        """Add one member as JSON."""
        self.add(name, json_bytes(value))

    def add_list(self, name: str, entries: Iterable[Any]) -> int:
        """Add one member, a JSON list written entry by entry; return the number of entries.

        No other member can be added before the last entry has been written.
        """
        digest, count = sha256(), 0
        with self._zip.open(_member(name), "w", force_zip64=True) as member:
            for entry in entries:
                text = ((",\n" if count else "[\n") + _json_text(entry)).encode()
                digest.update(text)
                member.write(text)
                count += 1
            ending = b"\n]\n" if count else b"[]\n"
            digest.update(ending)
            member.write(ending)
        self._sums[name] = digest.hexdigest()
        return count

    def close(self, told: dict[str, Any]) -> None:
        """Write the manifest, with further entries, and finish the archive."""
        manifest = {"format": FORMAT, **told, "sha256": dict(sorted(self._sums.items()))}
        self._write("manifest.json", json_bytes(manifest))
        self._zip.close()

    def give_up(self) -> None:
        """Give up an archive that will not be finished; nothing more is written."""
        self._zip.fp = None

    def _write(self, name: str, data: bytes) -> None:
        self._zip.writestr(_member(name), data)


def _member(name: str) -> zipfile.ZipInfo:
    # One fixed date, so that the same records give the same archive.
    info = zipfile.ZipInfo(name, date_time=_EARLIEST)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o644 << 16
    return info


class ArchiveReader:
    """Read an archive, each member checked against the manifest.

    Parameters
    ----------
    file : binary file
        The archive, seekable.
    source : str
        Its name, for faults.
    meanwhile : callable, optional
        Called with the number of bytes unpacked and the total; may raise an error to stop reading.

    Raises
    ------
    BadInput
        If it is not an archive of records, has another format, or contains what its manifest does not list.
    """

    def __init__(
        self, file: IO[bytes], source: str, meanwhile: Callable[[int, int], object] = lambda _done, _all: None
    ) -> None:
        self.source = source
        self._meanwhile = meanwhile
        self._unpacked = self._whole = 0
        self._zip = open_zip(file, source, most_members=MOST_MEMBERS)
        self._given: Counter[str] = Counter()
        names = self._zip.namelist()
        self._check_sizes(names)
        if "manifest.json" not in names:
            raise BadInput(message("fault.no_manifest"), source)
        self.manifest = self._manifest()
        self._check_named(names)

    def names(self) -> Iterable[str]:
        """Return the members, sorted, without the manifest."""
        return sorted(self._sums)

    def size(self, name: str) -> int:
        """Return the unpacked size of a member in bytes, as stated by the archive."""
        return self._zip.getinfo(name).file_size

    def read(self, name: str) -> bytes:
        """Return one member's bytes.

        Raises
        ------
        BadInput
            If it is missing, damaged, altered, too large, or read too often.
        """
        return self._checked(name, most_bytes=MOST_FILE_BYTES)

    def read_json(self, name: str, *, again: bool = False) -> Any:
        """Return one member's JSON value; it is counted before it is built and read as strictly as
        a drill file.

        Parameters
        ----------
        name : str
            The member.
        again : bool
            It was read before and may be read any number of times.

        Raises
        ------
        BadInput
            As in `read`, or if it is not JSON or has more than two million values.
        """
        return self._json(name, self._checked(name, most_bytes=MOST_DOCUMENT_BYTES, again=again))

    def each(self, name: str) -> Iterator[Any]:
        """Yield the entries of one member, a JSON list, one after the other.

        If this raises an error in the end, the caller must discard the entries.

        Raises
        ------
        BadInput
            As in `read`, or if it is not a JSON list or an entry is longer than four million characters.
        """
        self._claim(name)
        texts = self._texts(name)
        try:
            yield from each_value(texts, f"{self.source}: {name}", most_letters=MOST_ENTRY)
        except BadInput:
            # An altered member may not be JSON either; 'altered' is the better message.
            for _ in texts:
                pass
            raise

    def _texts(self, name: str) -> Iterator[str]:
        decoder, digest = getincrementaldecoder("utf-8")(), sha256()
        try:
            for piece in self._pieces(name, MOST_LIST_BYTES):
                digest.update(piece)
                yield decoder.decode(piece)
            yield decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            raise BadInput(message("fault.not_utf8_member").at(name), self.source) from None
        self._check_sum(name, digest.hexdigest())

    def _checked(self, name: str, *, most_bytes: int, again: bool = False) -> bytes:
        self._claim(name, again=again)
        data = self._bytes(name, most_bytes)
        self._check_sum(name, sha256(data).hexdigest())
        return data

    def _claim(self, name: str, *, again: bool = False) -> None:
        if name not in self._sums or name not in self._zip.NameToInfo:
            raise BadInput(message("fault.missing").at(name[:80]), self.source)
        self._given[name] += not again
        if self._given[name] > MOST_TIMES:
            raise BadInput(message("fault.member_of_several").at(name[:80]), self.source)

    def _check_sum(self, name: str, found: str) -> None:
        if found != self._sums[name]:
            raise BadInput(message("fault.member_altered").at(name), self.source)

    def _json(self, name: str, data: bytes) -> Any:
        if sum(data.count(sign) for sign in (b",", b"[", b"{")) > MOST_VALUES:
            raise BadInput(message("fault.too_many_values", n=MOST_VALUES).at(name), self.source)
        source = f"{self.source}: {name}"
        text = decode_text(data, source, most_bytes=MOST_DOCUMENT_BYTES)
        return parse_json(text, source, most_values=MOST_VALUES)

    def _manifest(self) -> dict[str, Any]:
        manifest = self._json("manifest.json", self._bytes("manifest.json", MOST_DOCUMENT_BYTES))
        found = manifest.get("format") if isinstance(manifest, dict) else None
        if found != FORMAT:
            fault = message("fault.just", value=message("term.quoted", text=FORMAT))
            raise BadInput(fault.at("manifest.json", "format"), self.source)
        sums = manifest.get("sha256")
        if not isinstance(sums, dict) or not all(isinstance(value, str) for value in sums.values()):
            raise BadInput(message("fault.manifest_sums").at("manifest.json", "sha256"), self.source)
        self._sums: dict[str, str] = sums
        return dict(manifest)

    def _check_sizes(self, names: list[str]) -> None:
        if len(names) != len(set(names)):
            raise BadInput(message("fault.member_twice"), self.source)
        self._whole = sum(info.file_size for info in self._zip.infolist())
        if self._whole > MOST_TOTAL_BYTES:
            raise BadInput(message("fault.unpacks_to", most=size(MOST_TOTAL_BYTES)), self.source)

    def _check_named(self, names: list[str]) -> None:
        others = set(names) - set(self._sums) - {"manifest.json"}
        if others:
            raise BadInput(message("fault.member_unnamed").at(min(others)[:80]), self.source)

    def _bytes(self, name: str, most_bytes: int) -> bytes:
        return b"".join(self._pieces(name, most_bytes))

    def _pieces(self, name: str, most_bytes: int) -> Iterator[bytes]:
        entry = self._zip.getinfo(name)
        if entry.file_size > most_bytes:
            raise BadInput(message("fault.unpacks_to", most=size(most_bytes)).at(name), self.source)
        try:
            for piece in pieces(self._zip, entry, most_bytes=most_bytes):
                # A drill's newest version is unpacked twice.
                self._unpacked = min(self._unpacked + len(piece), self._whole)
                self._meanwhile(self._unpacked, self._whole)
                yield piece
        except BadInput as error:
            raise BadInput([fault.at(name) for fault in error.faults], self.source) from None


def json_bytes(value: Any) -> bytes:
    """Return JSON as UTF-8, keys in the order given, in one line."""
    return (_json_text(value) + "\n").encode()


def _json_text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
