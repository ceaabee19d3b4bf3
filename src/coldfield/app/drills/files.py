"""Read and write drills and splits on disk."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from coldfield.drill.drill import Drill
from coldfield.drill.frame import SiteFrame
from coldfield.drill.run import Splits
from coldfield.errors import BadInput
from coldfield.files.drill_json import read_drill, write_drill
from coldfield.files.json_text import decode_text
from coldfield.files.run_csv import read_splits
from coldfield.message import message, verbatim


def load_drill(path: Path | str, *, on_earth: bool = False) -> Drill:
    """Return the drill in a file.

    Parameters
    ----------
    path : path
        The file.
    on_earth : bool
        Refuse a drill without a map position, because latitude and longitude will be needed.

    Raises
    ------
    BadInput
        If the file cannot be read or is not a drill file; one line per fault.
    """
    drill = read_drill(read_text(path), str(path))
    if on_earth:
        SiteFrame(drill.site.origin).refuse_nowhere(str(path))
    return drill


def load_splits(path: Path | str) -> Splits:
    """Return the splits in a CSV file; faults as `load_drill`."""
    return read_splits(read_text(path), str(path))


def save_drill(drill: Drill, path: Path | str) -> None:
    """Write a drill file, completely or not at all."""
    write_whole(path, write_drill(drill).encode())


def read_text(path: Path | str) -> str:
    """Return a small text file's content; a file that cannot be read or is too large is a `BadInput`."""
    return decode_text(read_bytes(path, most_bytes=5_000_001), str(path))


def read_bytes(path: Path | str, *, most_bytes: int) -> bytes:
    """Return at most `most_bytes` bytes of a file.

    Raises
    ------
    BadInput
        If there is no such file, it is a folder, or it may not be read.
    """
    try:
        with Path(path).open("rb") as file:
            return file.read(most_bytes)
    except FileNotFoundError:
        raise BadInput(message("fault.no_such_file"), str(path)) from None
    except IsADirectoryError:
        raise BadInput(message("fault.a_folder"), str(path)) from None
    except OSError as error:
        raise BadInput(message("fault.not_readable", why=verbatim(str(error.strerror))), str(path)) from None


def not_writable(error: OSError, path: Path | str) -> BadInput:
    """Return the fault of a file that cannot be written, with the operating system's reason."""
    return BadInput(message("fault.not_writable", why=verbatim(str(error.strerror))), str(path))


def write_whole(path: Path | str, data: bytes) -> None:
    """Write a file completely or not at all.

    Raises
    ------
    BadInput
        If the folder is missing or not writable; an existing file stays as it was.
    """
    target = Path(path)
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    except OSError as error:
        raise not_writable(error, path) from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(name, 0o666 & ~umask)
        os.replace(name, target)
    except OSError as error:
        Path(name).unlink(missing_ok=True)
        raise not_writable(error, path) from None
