"""Where the records are: the user's own folder, a given folder, or a server."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from coldfield.errors import Refused, UnknownRecord
from coldfield.message import message
from coldfield.records.database import Database, open_server, open_sqlite
from coldfield.records.folder import Folder, Lock
from coldfield.records.underway import unsettled


@dataclass(frozen=True, slots=True)
class Data:
    """The records that a command works on: the `url` of a server, or else a folder."""

    folder: Folder
    url: str | None = None


def data_at(data: Path | str | None, url: str | None = None) -> Data:
    """Return the records that a command's two options name; by default those of the current user."""
    if data is None:
        from platformdirs import user_data_dir

        data = user_data_dir("coldfield", appauthor=False)
    return Data(folder=Folder(Path(data)), url=url)


@contextmanager
def reading(data: Data) -> Iterator[Database]:
    """Open existing records for reading, even while a server is running.

    Raises
    ------
    UnknownRecord
        If there are none there.
    """
    if data.url is None and not there(data.folder):
        raise UnknownRecord(message("fault.no_records", path=str(data.folder.path)))
    database = open_server(data.url) if data.url else open_sqlite(data.folder, make=False)
    try:
        yield database
    finally:
        database.close()


@contextmanager
def writing(data: Data, *, who: str) -> Iterator[Database]:
    """Open records as the only process that may write them; create them if there are none.

    Parameters
    ----------
    data : Data
        Which records.
    who : str
        The name of this process, shown to another one that wants the records too.

    Raises
    ------
    Refused
        If another process has them open for writing.
    """
    if data.url is not None:
        database = open_server(data.url)
        try:
            if not database.hold_server_lock():
                raise Refused(message("fault.in_use"))
            yield database
        finally:
            database.close()
        return
    with locked(data.folder, who=who):
        database = open_sqlite(data.folder, alone=True)
        try:
            database.wipe_what_is_left()
            yield database
        finally:
            database.close()


def there(folder: Folder) -> bool:
    """Return whether a folder contains records, or remains of records whose file is lost."""
    left = unsettled(folder) or bool(folder.copies()) or any(path.exists() for path in folder.logs())
    return left or (folder.database.exists() and folder.database.stat().st_size > 0)


@contextmanager
def locked(folder: Folder, *, who: str) -> Iterator[None]:
    """Hold the lock of a folder's records; raise `Refused` if another process holds it."""
    folder.make()
    lock = Lock(folder.path / "lock", who=who)
    try:
        yield
    finally:
        lock.release()
