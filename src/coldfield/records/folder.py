"""The folder the records live in: the file, its backups, copies kept before a change, the lock."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from coldfield.errors import Refused, StoreTrouble


@dataclass(frozen=True, slots=True)
class Folder:
    """Where everything of one set of records lies."""

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
        """Make the folder, readable by its owner only.

        Raises
        ------
        StoreTrouble
            If it cannot be made or written.
        """
        try:
            self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise StoreTrouble(
                f"the folder {self.path} cannot be made ({error.strerror}): choose another with --data",
                kind="unreachable",
            ) from error

    def kept_copy(self, why: str, now: datetime) -> Path:
        """Return a free path for a copy of the records, kept before something changes them."""
        self.kept.mkdir(mode=0o700, exist_ok=True)
        return free_path(self.kept / f"coldfield-{now:%Y%m%dT%H%M%SZ}-before-{why}.db")

    def backup_path(self, now: datetime) -> Path:
        """Return a free path for a backup."""
        self.backups.mkdir(mode=0o700, exist_ok=True)
        return free_path(self.backups / f"coldfield-{now:%Y%m%dT%H%M%SZ}.db")


def free_path(path: Path) -> Path:
    """Return `path`, or the first of path-2, path-3, ... that does not exist yet."""
    candidate, number = path, 1
    while candidate.exists():
        number += 1
        candidate = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return candidate


class Lock:
    """Held by the one process that may write; let go by itself when that process ends in any way.

    Parameters
    ----------
    path : Path
        A file beside the records; its first line tells who holds the lock.

    Raises
    ------
    Refused
        If another process holds it; the message tells which.
    """

    def __init__(self, path: Path, *, who: str) -> None:
        try:
            self._file: IO[str] = path.open("a+", encoding="utf-8")
        except OSError as error:
            raise StoreTrouble(
                f"the folder {path.parent} cannot be written ({error.strerror}): give yourself the right "
                "to write it, or choose another with --data",
                kind="read-only",
            ) from error
        if not _try_lock(self._file):
            self._file.seek(0)
            holder = self._file.readline().strip() or "another Coldfield"
            self._file.close()
            raise Refused(f"these records are in use by {holder}: stop it first, or work there")
        self.tell(who)

    def tell(self, who: str) -> None:
        """Write who holds the lock, for the message another process gets."""
        self._file.seek(0)
        self._file.truncate()
        self._file.write(who + "\n")
        self._file.flush()

    def release(self) -> None:
        """Let go."""
        self._file.close()


if sys.platform == "win32":  # pragma: no cover
    import msvcrt

    def _try_lock(file: IO[str]) -> bool:
        # One byte far behind the text, so that the text stays readable for others.
        file.seek(1_000_000)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _try_lock(file: IO[str]) -> bool:
        try:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
        return True
