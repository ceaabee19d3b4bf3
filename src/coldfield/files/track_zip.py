"""Several track files in one zip archive, read from memory, never unpacked to disk."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator

from coldfield.errors import BadInput
from coldfield.files.zip_guard import open_zip, unpacked
from coldfield.message import message, size

MOST_MEMBERS = 200
MOST_BYTES = 64_000_000
"""Most bytes of one member, and of the archive itself."""

MOST_BYTES_TOGETHER = 96_000_000
"""Most bytes that an archive may unpack to: a day of a few people, or one run of a course. Setting."""


def how_many(data: bytes, source: str) -> int:
    """Return how many files an archive has, without folders and hidden ones; raises like `members`."""
    return len(_entries(open_zip(io.BytesIO(data), source, most_members=2 * MOST_MEMBERS)))


def members(data: bytes, source: str) -> Iterator[tuple[str, bytes | BadInput]]:
    """Yield (name, content) of each file in an archive, or the fault that prevents reading it.

    Names are the last part of the path in the archive; folders and hidden files are skipped.

    Raises
    ------
    BadInput
        If it is not a zip archive, has more than 200 files, or unpacks to more than 96 MB.

    Notes
    -----
    Declared sizes are not trusted: unpacking stops at the limit, so a zip bomb takes at most that
    much memory, one member at a time. Archives inside archives are not opened.
    """
    archive = open_zip(io.BytesIO(data), source, most_members=2 * MOST_MEMBERS)
    entries = _entries(archive)
    if len(entries) > MOST_MEMBERS:
        raise BadInput(message("fault.too_many_files", n=len(entries), most=MOST_MEMBERS), source)
    if not entries:
        raise BadInput(message("fault.no_file"), source)
    left = MOST_BYTES_TOGETHER
    for entry in entries:
        name = entry.filename.replace("\\", "/").rpartition("/")[2]
        content, spent = _content(archive, entry, f"{source}: {name}")
        left -= spent
        if left < 0:
            raise BadInput(message("fault.unpacks_to", most=size(MOST_BYTES_TOGETHER)), source)
        yield name, content


def _entries(archive: zipfile.ZipFile) -> list[zipfile.ZipInfo]:
    return [e for e in archive.infolist() if not e.filename.endswith("/") and not _hidden(e.filename)]


def _content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, where: str) -> tuple[bytes | BadInput, int]:
    if entry.filename.lower().endswith(".zip"):
        return BadInput(message("fault.zip_in_zip"), where), 0
    return unpacked(archive, entry, where, most_bytes=MOST_BYTES)


def _hidden(path: str) -> bool:
    parts = path.replace("\\", "/").split("/")
    return any(part.startswith((".", "__MACOSX")) for part in parts)
