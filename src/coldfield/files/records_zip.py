"""The open archive of all records: a zip of JSON, GPX (and other tracks as they came) and CSV.

Its first member that matters is ``manifest.json``; ``docs/export_format.md`` tells the rest. Every member
stands in the manifest with its SHA-256, so a damaged or altered archive is noticed.
"""

from __future__ import annotations

import json
import zipfile
from codecs import getincrementaldecoder
from collections.abc import Iterable, Iterator
from hashlib import sha256
from typing import IO, Any

from coldfield.errors import BadInput
from coldfield.files.json_text import decode_text, each_value, parse_json

FORMAT = "coldfield-records/1"
MOST_MEMBER_BYTES = 200_000_000
MOST_TOTAL_BYTES = 8_000_000_000
MOST_MEMBERS = 1_000_000
_PIECE_BYTES = 256 * 1024
_EARLIEST = (1980, 1, 1, 0, 0, 0)


class ArchiveWriter:
    """Write an archive member by member; `close` writes the manifest.

    Parameters
    ----------
    file : binary file
        Where the archive goes; need not be seekable to its start.
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
        """Add one member, a JSON list written entry by entry; return how many there were.

        No other member can be added before the last entry was taken.
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
        """Write the manifest, with what else is told, and end the archive."""
        manifest = {"format": FORMAT, **told, "sha256": dict(sorted(self._sums.items()))}
        self._write("manifest.json", json_bytes(manifest))
        self._zip.close()

    def _write(self, name: str, data: bytes) -> None:
        self._zip.writestr(_member(name), data)


def _member(name: str) -> zipfile.ZipInfo:
    # One fixed date: the same records give the same archive.
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

    Raises
    ------
    BadInput
        If it is no archive of records, of another format, or holds what its manifest does not name.
    """

    def __init__(self, file: IO[bytes], source: str) -> None:
        self.source = source
        try:
            self._zip = zipfile.ZipFile(file)
        except Exception:  # a damaged directory makes zipfile raise more than its own errors
            raise BadInput("is not a zip file, or it is cut short", source) from None
        names = self._zip.namelist()
        if "manifest.json" not in names:
            raise BadInput("has no manifest.json; name a zip that `coldfield export` made", source)
        self.manifest = self._manifest()
        self._check_members(names)

    def names(self) -> Iterable[str]:
        """Return the members, sorted, without the manifest."""
        return sorted(self._sums)

    def size(self, name: str) -> int:
        """Return how many bytes a member has once it is unpacked, as the archive says."""
        return self._zip.getinfo(name).file_size

    def read(self, name: str) -> bytes:
        """Return one member's bytes.

        Raises
        ------
        BadInput
            If it is missing, damaged or altered.
        """
        if name not in self._sums or name not in self._zip.NameToInfo:
            raise BadInput(f"{name[:80]}: is missing", self.source)
        data = self._bytes(name)
        if sha256(data).hexdigest() != self._sums[name]:
            raise BadInput(f"{name}: is not what the manifest says; it was damaged or altered", self.source)
        return data

    def read_json(self, name: str) -> Any:
        """Return one member's JSON value, read as strictly as a drill file.

        Raises
        ------
        BadInput
            If it is missing, damaged or altered, or is not JSON.
        """
        source = f"{self.source}: {name}"
        return parse_json(decode_text(self.read(name), source, most_bytes=MOST_MEMBER_BYTES), source)

    def each(self, name: str) -> Iterator[Any]:
        """Give the entries of one member, a JSON list, one after the other.

        What is given is to be thrown away where this raises in the end.

        Raises
        ------
        BadInput
            If it is missing, damaged or altered, or is no JSON list.
        """
        if name not in self._sums or name not in self._zip.NameToInfo:
            raise BadInput(f"{name[:80]}: is missing", self.source)
        if self._zip.getinfo(name).file_size > MOST_MEMBER_BYTES:
            raise BadInput(f"{name}: unpacks to more than {MOST_MEMBER_BYTES // 10**6} MB", self.source)
        pieces = self._pieces(name)
        try:
            yield from each_value(pieces, f"{self.source}: {name}")
        except BadInput:
            # A member that was altered may be no JSON either: that it was altered is the better word for it.
            for _ in pieces:
                pass
            raise

    def _pieces(self, name: str) -> Iterator[str]:
        decoder, digest = getincrementaldecoder("utf-8")(), sha256()
        try:
            with self._zip.open(name) as member:
                while data := member.read(_PIECE_BYTES):
                    digest.update(data)
                    yield decoder.decode(data)
            yield decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            raise BadInput(f"{name}: is not UTF-8", self.source) from None
        except Exception as error:  # zlib.error and whatever other unpackers raise
            raise BadInput(f"{name}: is damaged ({type(error).__name__})", self.source) from None
        if digest.hexdigest() != self._sums[name]:
            raise BadInput(f"{name}: is not what the manifest says; it was damaged or altered", self.source)

    def _manifest(self) -> dict[str, Any]:
        try:
            manifest = json.loads(self._bytes("manifest.json"))
        except (ValueError, RecursionError):
            raise BadInput("manifest.json: is not JSON", self.source) from None
        found = manifest.get("format") if isinstance(manifest, dict) else None
        if found != FORMAT:
            raise BadInput(f"manifest.json: format must be '{FORMAT}'", self.source)
        sums = manifest.get("sha256")
        if not isinstance(sums, dict) or not all(isinstance(value, str) for value in sums.values()):
            raise BadInput("manifest.json: sha256 must name every member", self.source)
        self._sums: dict[str, str] = sums
        return dict(manifest)

    def _check_members(self, names: list[str]) -> None:
        others = set(names) - set(self._sums) - {"manifest.json"}
        if others:
            raise BadInput(f"{min(others)[:80]}: does not stand in the manifest", self.source)
        if len(names) > MOST_MEMBERS or len(names) != len(set(names)):
            raise BadInput("holds too many members, or one twice", self.source)
        if sum(info.file_size for info in self._zip.infolist()) > MOST_TOTAL_BYTES:
            raise BadInput(f"unpacks to more than {MOST_TOTAL_BYTES // 10**9} GB", self.source)

    def _bytes(self, name: str) -> bytes:
        if self._zip.getinfo(name).file_size > MOST_MEMBER_BYTES:
            raise BadInput(f"{name}: unpacks to more than {MOST_MEMBER_BYTES // 10**6} MB", self.source)
        try:
            with self._zip.open(name) as member:
                data = member.read(MOST_MEMBER_BYTES + 1)
        except Exception as error:  # zlib.error and whatever other unpackers raise
            raise BadInput(f"{name}: is damaged ({type(error).__name__})", self.source) from None
        return data


def json_bytes(value: Any) -> bytes:
    """Return JSON as UTF-8, keys in the order given, in one line."""
    return (_json_text(value) + "\n").encode()


def _json_text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
