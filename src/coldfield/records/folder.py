"""The folder of the records: the file, its backups, copies kept before a change, the lock."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from coldfield.errors import Refused, StoreTrouble
from coldfield.message import message
from coldfield.records.faults import no_folder, of_system

LOG_ENDINGS = ("-wal", "-shm", "-journal")
"""Files that SQLite keeps beside a file in use; the first holds writes that are not in the file yet."""


@dataclass(frozen=True, slots=True)
class Folder:
    """The places of everything that belongs to one set of records."""

    path: Path

    @property
    def database(self) -> Path:
        """Return the path of the SQLite file."""
        return self.path / "coldfield.db"

    @property
    def backups(self) -> Path:
        """Return the folder of backups."""
        return self.path / "backups"

    @property
    def kept(self) -> Path:
        """Return the folder of copies kept before a migration or a restore."""
        return self.path / "kept"

    def make(self) -> None:
        """Create the folder, readable only by its owner.

        Raises
        ------
        StoreTrouble
            If it cannot be created or written.
        """
        try:
            self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            said = message("fault.store_no_folder", path=str(self.path), why=of_system(error))
            raise StoreTrouble(said, kind="unreachable") from error

    def kept_copy(self, why: str, now: datetime) -> Path:
        """Return a free path for a copy of the records before something changes them."""
        _make_inside(self.kept)
        return free_path(self.kept / f"coldfield-{now:%Y%m%dT%H%M%SZ}-before-{why}.db")

    def backup_path(self, now: datetime) -> Path:
        """Return a free path for a backup."""
        _make_inside(self.backups)
        return free_path(self.backups / f"coldfield-{now:%Y%m%dT%H%M%SZ}.db")

    def logs(self) -> tuple[Path, ...]:
        """Return the paths of SQLite's files beside the records while these are in use."""
        return tuple(self.database.with_name(self.database.name + ending) for ending in LOG_ENDINGS)

    def copies(self) -> list[Path]:
        """Return backups and kept copies, the newest first."""
        places = [place for place in (self.backups, self.kept) if place.is_dir()]
        found = [path for place in places for path in place.glob("*.db") if not path.name.startswith(".")]
        return sorted(found, key=lambda path: path.stat().st_mtime, reverse=True)

    def parts(self) -> list[Path]:
        """Return the unfinished files left by commands that were cut off, sorted."""
        places = [place for place in (self.path, self.backups, self.kept) if place.is_dir()]
        return sorted(path for place in places for path in place.glob(".*.part*"))


def part_of(target: Path) -> Path:
    """Return the path where a file is written until it is complete and gets its name."""
    return target.with_name(f".{target.name}.part")


def sync_file(path: Path) -> None:
    """Make sure that a file's content is on the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def sync_folder(path: Path) -> None:
    """Make sure that changes of names in a folder are on the disk."""
    if os.name == "posix":
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _make_inside(path: Path) -> None:
    if path.is_dir():
        return
    try:
        path.mkdir(mode=0o700)
        sync_folder(path.parent)
    except OSError as error:
        raise no_folder(path, error) from error


def free_path(path: Path) -> Path:
    """Return `path`, or the first of path-2, path-3, ... that does not exist yet."""
    candidate, number = path, 1
    while candidate.exists():
        number += 1
        candidate = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return candidate


class Lock:
    """The lock of the one process that may write; released however that process ends.

    Parameters
    ----------
    path : Path
        A file beside the records; its first line says who holds the lock.

    Raises
    ------
    Refused
        If another process holds it; the message says which.
    """

    def __init__(self, path: Path, *, who: str) -> None:
        try:
            self._file: IO[str] = path.open("a+", encoding="utf-8")
        except OSError as error:
            said = message("fault.store_folder_not_writable", path=str(path.parent), why=of_system(error))
            raise StoreTrouble(said, kind="read-only") from error
        if not _try_lock(self._file):
            self._file.seek(0)
            holder = self._file.readline().strip()
            self._file.close()
            raise Refused(message("fault.in_use_by", who=holder) if holder else message("fault.in_use"))
        self.tell(who)

    def tell(self, who: str) -> None:
        """Write who holds the lock, for the message that another process gets."""
        # On a full disk the holder's name cannot be written; the lock is held all the same.
        with suppress(OSError):
            os.truncate(self._file.fileno(), 0)
            os.lseek(self._file.fileno(), 0, os.SEEK_SET)
            os.write(self._file.fileno(), f"{who}\n".encode())

    def release(self) -> None:
        """Release the lock."""
        self._file.close()


@contextmanager
def reader(folder: Folder) -> Iterator[None]:
    """Read along with others; nobody may replace the file of the records meanwhile.

    Raises
    ------
    Refused
        If somebody is doing that.
    """
    with _readers(folder, alone=False) as got:
        if not got:
            raise Refused(message("fault.being_restored", path=str(folder.path)))
        yield


@contextmanager
def no_readers(folder: Folder) -> Iterator[bool]:
    """Keep readers out; yields False if somebody is reading."""
    with _readers(folder, alone=True) as got:
        yield got


@contextmanager
def _readers(folder: Folder, *, alone: bool) -> Iterator[bool]:
    try:
        file = (folder.path / "lock-readers").open("a+", encoding="utf-8")
    except OSError:
        # In a read-only folder nothing can be restored either.
        yield not alone
        return
    with file:
        yield _try_lock(file, shared=not alone)


if sys.platform == "win32":
    import msvcrt

    def _try_lock(file: IO[str], *, shared: bool = False) -> bool:
        if shared:
            return True
        # One byte far beyond the text, so that others can still read the text.
        file.seek(1_000_000)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _try_lock(file: IO[str], *, shared: bool = False) -> bool:
        try:
            fcntl.flock(file.fileno(), (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
        except OSError:
            return False
        return True
