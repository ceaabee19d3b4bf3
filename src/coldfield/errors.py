"""The errors of Coldfield, with messages for the person who has to fix them."""

from __future__ import annotations

from collections.abc import Iterable

from coldfield.message import Message, verbatim


def _say(message: Message) -> str:
    # The catalogues are loaded only when a message is shown, which is rare.
    from coldfield.words import say

    return say(message)


class ColdfieldError(Exception):
    """The base class of errors that Coldfield raises on purpose; `message` says what happened."""

    def __init__(self, message: Message) -> None:
        self.message = message
        super().__init__(message)

    def __str__(self) -> str:
        return _say(self.message)


class BadInput(ColdfieldError):
    """An input cannot be used. Contains every fault found, each with its place.

    Parameters
    ----------
    faults : Message or iterable of Message
        One for each fault: the place, what is wrong, and what would be right.
    source : str, optional
        The file or field that the faults belong to; it is put before each place.

    Examples
    --------
    >>> from coldfield.message import message
    >>> error = BadInput([message("fault.missing").at("burials[1].depth_m")], source="bowl.json")
    >>> print(error)
    bowl.json: burials[1].depth_m: is missing
    """

    def __init__(self, faults: Iterable[Message] | Message, source: str | None = None) -> None:
        given = [faults] if isinstance(faults, Message) else list(faults)
        self.source = source
        self.faults: tuple[Message, ...] = tuple(given)
        super().__init__(self.placed()[0] if self.faults else verbatim(""))

    def __str__(self) -> str:
        return "\n".join(self.lines())

    def placed(self) -> tuple[Message, ...]:
        """Return the faults, each with the source before its place."""
        return tuple(fault.at(self.source) if self.source else fault for fault in self.faults)

    def lines(self) -> tuple[str, ...]:
        """Return one line per fault, in the current language."""
        return tuple(_say(fault) for fault in self.placed())

    def texts(self) -> tuple[str, ...]:
        """Return the faults as text, without their source."""
        return tuple(_say(fault) for fault in self.faults)


class OutOfModel(ColdfieldError):
    """A request for which the model has no answer, with the reason."""


class UnknownRecord(ColdfieldError):
    """A requested record, name or file does not exist."""


class Refused(ColdfieldError):
    """Something is possible but is not done, for a stated reason."""


class Conflict(Refused):
    """A write was based on an older version of a record than the stored one, or on none.

    Parameters
    ----------
    message : Message
        What happened and how to go on.
    version : int or None
        The stored version; None if nothing is stored.
    based_on : int or None
        The version the write was based on; None if it named none.
    """

    def __init__(self, message: Message, *, version: int | None, based_on: int | None) -> None:
        self.version = version
        self.based_on = based_on
        super().__init__(message)


class StoreTrouble(ColdfieldError):
    """The stored records cannot be read or written: full disk, locked, read-only, damaged, newer.

    Parameters
    ----------
    message : Message
        What is wrong, what was left unchanged, and what to do.
    kind : str
        One of 'full', 'busy', 'locked', 'read-only', 'damaged', 'newer', 'foreign', 'unreachable'.
    """

    def __init__(self, message: Message, *, kind: str) -> None:
        self.kind = kind
        super().__init__(message)
