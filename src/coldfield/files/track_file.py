"""Any file of recorded tracks: recognised by its content, then read by the reader for its kind."""

from __future__ import annotations

from coldfield.drill.recorded import Recorded
from coldfield.errors import BadInput
from coldfield.files.budget import Budget
from coldfield.files.fit import read_fit
from coldfield.files.gpx import read_gpx
from coldfield.files.track_csv import read_track_csv
from coldfield.files.track_zip import members
from coldfield.message import Message, message, size

MOST_BYTES = 64_000_000


def read_track_file(
    data: bytes, name: str, budget: Budget | None = None
) -> tuple[tuple[Recorded, ...], tuple[Message, ...]]:
    """Return the tracks of a GPX, FIT, CSV or zip file, and one message per fault.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Its name, without folders. Tracks from an archive have the name of their own file.
    budget : Budget, optional
        What is left for the archive that contains the file. An archive has one budget for all its files.

    Notes
    -----
    A bad file never raises an error: its faults are returned as messages, so that the other files of a run
    can still be used.
    """
    budget = budget if budget is not None else Budget()
    try:
        if not data:
            raise BadInput(message("fault.empty"), name)
        if len(data) > MOST_BYTES:
            raise BadInput(message("fault.larger_than_run", most=size(MOST_BYTES)), name)
        if data[:4] in (b"PK\x03\x04", b"PK\x05\x06"):
            return _read_archive(data, name, budget)
        return _read_one(data, name, budget), ()
    except BadInput as error:
        return (), error.placed()


def _read_one(data: bytes, name: str, budget: Budget) -> tuple[Recorded, ...]:
    if data[8:12] == b".FIT":
        return read_fit(data, name, budget)
    start = data[:200].lstrip(b"\xef\xbb\xbf \t\r\n")
    if start.startswith(b"<") or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return read_gpx(data, name, budget)
    kind = name.rpartition(".")[2].lower()
    if kind == "gpx":
        return read_gpx(data, name, budget)
    if kind == "fit":
        return read_fit(data, name, budget)
    if kind == "csv":
        return read_track_csv(data, name, budget)
    raise BadInput(message("fault.no_track_file"), name)


def _read_archive(data: bytes, name: str, budget: Budget) -> tuple[tuple[Recorded, ...], tuple[Message, ...]]:
    tracks: list[Recorded] = []
    faults: list[Message] = []
    try:
        for member, content in members(data, name):
            if isinstance(content, BadInput):
                faults += content.placed()
                continue
            try:
                tracks += _read_one(content, member, budget)
            except BadInput as error:
                faults += [fault.at(name) for fault in error.placed()]
    except BadInput as error:
        faults += error.placed()
    return tuple(tracks), tuple(faults)
