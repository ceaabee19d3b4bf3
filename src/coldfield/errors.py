"""What can go wrong, in words for the person who has to mend it."""

from __future__ import annotations

from collections.abc import Iterable


class ColdfieldError(Exception):
    """The root of every error that Coldfield raises on purpose."""


class BadInput(ColdfieldError):
    """Something handed in cannot be used. Carries every fault found, each with its place.

    Parameters
    ----------
    faults : iterable of str
        One line per fault: the place, what is wrong, what would be right.
    source : str, optional
        The file or field the faults belong to; put in front of each line.

    Examples
    --------
    >>> error = BadInput(["burials[1].depth_m: must be above 0 and at most 10"], source="bowl.json")
    >>> print(error)
    bowl.json: burials[1].depth_m: must be above 0 and at most 10
    """

    def __init__(self, faults: Iterable[str] | str, source: str | None = None) -> None:
        lines = [faults] if isinstance(faults, str) else list(faults)
        self.source = source
        self.faults: tuple[str, ...] = tuple(lines)
        super().__init__("\n".join(self.lines()))

    def lines(self) -> tuple[str, ...]:
        """Return one line per fault, each starting with the source where there is one."""
        return tuple(f"{self.source}: {fault}" if self.source else fault for fault in self.faults)


class OutOfModel(ColdfieldError):
    """A request for which the model has no answer, with the reason."""


class UnknownRecord(ColdfieldError):
    """A record, name or file that is asked for does not exist."""


class Refused(ColdfieldError):
    """Something that could be done, but is not, for a reason that is named."""


class Conflict(Refused):
    """A write was based on an older state of a record than the stored one, or on none at all.

    Parameters
    ----------
    message : str
        What happened and how to go on.
    version : int or None
        The version that is stored now; None where nothing is stored.
    based_on : int or None
        The version the write was based on; None where it named none.
    """

    def __init__(self, message: str, *, version: int | None, based_on: int | None) -> None:
        self.version = version
        self.based_on = based_on
        super().__init__(message)


class StoreTrouble(ColdfieldError):
    """The stored records cannot be read or written: full disk, locked, read-only, damaged, newer.

    Parameters
    ----------
    message : str
        What is wrong, what was left untouched, and the way back.
    kind : str
        One of 'full', 'busy', 'locked', 'read-only', 'damaged', 'newer', 'foreign', 'unreachable'.
    """

    def __init__(self, message: str, *, kind: str) -> None:
        self.kind = kind
        super().__init__(message)
