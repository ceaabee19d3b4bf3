"""The open archive of all records: a zip of JSON, GPX (and other tracks as they came) and CSV.

Its first member that matters is ``manifest.json``; ``docs/export_format.md`` tells the rest. Every member
stands in the manifest with its SHA-256, so a damaged or altered archive is noticed.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterable
from hashlib import sha256
from typing import IO, Any

from coldfield.errors import BadInput

FORMAT = "coldfield-records/1"
MOST_MEMBER_BYTES = 200_000_000
MOST_TOTAL_BYTES = 8_000_000_000
MOST_MEMBERS = 1_000_000
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

    def close(self, told: dict[str, Any]) -> None:
        """Write the manifest, with what else is told, and end the archive."""
        manifest = {"format": FORMAT, **told, "sha256": dict(sorted(self._sums.items()))}
        self._write("manifest.json", json_bytes(manifest))
        self._zip.close()

    def give_up(self) -> None:
        """Let go of an archive that will not be ended; nothing more is written."""
        self._zip.fp = None

    def _write(self, name: str, data: bytes) -> None:
        # One fixed date: the same records give the same archive.
        info = zipfile.ZipInfo(name, date_time=_EARLIEST)
        info.compress_type = zipfile.ZIP_DEFLATED
        info.external_attr = 0o644 << 16
        self._zip.writestr(info, data)


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
        """Return one member's JSON value."""
        try:
            return json.loads(self.read(name))
        except (ValueError, RecursionError):
            raise BadInput(f"{name}: is not JSON", self.source) from None

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
    """Return JSON as UTF-8, keys in the order given; a list has one entry a line."""

    def line(one: Any) -> str:
        return json.dumps(one, ensure_ascii=False, allow_nan=False)

    text = "[\n" + ",\n".join(map(line, value)) + "\n]" if isinstance(value, list) and value else line(value)
    return (text + "\n").encode()
