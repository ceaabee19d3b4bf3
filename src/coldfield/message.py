"""Messages as data: a code, typed values and a place.

The words are in one catalogue per language (`coldfield.words`). The code that finds something out returns a
message, which can be shown in any language, stored, compared and counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

Kind = Literal[
    "number",
    "duration",
    "about",
    "cost",
    "length",
    "area",
    "speed",
    "share",
    "angle",
    "times",
    "size",
    "day",
]
"""The kind of a quantity; `coldfield.words.quantities` defines how each is written."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value and its kind, in SI units (shares 0 to 1, angles in degrees, sizes in bytes).

    `decimals` overrides the number of digits for its kind. A day is an ISO date.
    """

    kind: Kind
    value: float | str
    decimals: int | None = None


@dataclass(frozen=True, slots=True)
class Message:
    """One message.

    Parameters
    ----------
    code : str
        Its key in the catalogues, such as ``finding.late_turn``.
    values : mapping
        The values for its placeholders. A `str` is inserted unchanged: a name, an id, a person's own words.
        An `int` is a count; the one named ``n`` selects singular or plural. A `Message` is shown in the same
        language, a tuple is a list.
    place : tuple
        The place, from the file inwards. A `str` is inserted unchanged.

    Examples
    --------
    >>> Message("fault.missing", place=("burials[1]",)).at("bowl.json").place
    ('bowl.json', 'burials[1]')
    """

    code: str
    values: Mapping[str, str | int | Quantity | Message | tuple[str | int | Quantity | Message, ...]] = field(
        default_factory=dict
    )
    place: tuple[str | Message, ...] = ()

    def at(self, *parts: str | Message) -> Message:
        """Return the message with a place before the one it has."""
        return replace(self, place=(*parts, *self.place))


Part = str | int | Quantity | Message
"""One element of a list in a message."""

Value = Part | tuple[Part, ...]
"""A value for a placeholder of a message."""

VERBATIM = "verbatim"
"""The code of texts that are not in a catalogue."""


def message(code: str, /, **values: Value) -> Message:
    """Return a message without a place.

    Raises
    ------
    TypeError
        If a value has a type that a message cannot contain; a bare float does not say what it measures.
    """
    for name, value in values.items():
        parts = value if isinstance(value, tuple) else (value,)
        if any(isinstance(part, bool) or not isinstance(part, Part) for part in parts):
            raise TypeError(f"{code}: {name} is a {type(value).__name__}, not a value of a message")
    return Message(code, values)


def verbatim(text: str) -> Message:
    """Return a text that is not translated: from a library, the operating system or an old document."""
    return Message(VERBATIM, {"text": text})


def number(value: float, decimals: int | None = None) -> Quantity:
    """Return a bare number, by default to six digits."""
    return Quantity("number", float(value), decimals)


def duration(seconds: float) -> Quantity:
    """Return a time to the second: '4 min 20 s'."""
    return Quantity("duration", float(seconds))


def about(seconds: float) -> Quantity:
    """Return a predicted time: half minutes from two minutes, tens of seconds from one minute."""
    return Quantity("about", float(seconds))


HALVES_FROM_S = 115.0
"""From here on a predicted time is given in half minutes: it is two minutes after rounding."""


def half_minutes(seconds: float) -> str | None:
    """Return a predicted time in half minutes without its unit; None below two minutes.

    Examples
    --------
    >>> half_minutes(388.0), half_minutes(372.0), half_minutes(114.0)
    ('6½', '6', None)
    """
    if seconds < HALVES_FROM_S:
        return None
    whole, half = divmod(int(seconds / 30.0 + 0.5), 2)
    return f"{whole}½" if half else str(whole)


def cost(seconds: float) -> Quantity:
    """Return a time lost: to 5 s below a minute, to 10 s above, never zero."""
    return Quantity("cost", float(seconds))


def length(metres: float, decimals: int | None = None) -> Quantity:
    """Return a length: one decimal below 10 m, whole metres from there."""
    return Quantity("length", float(metres), decimals)


def area(square_metres: float, decimals: int | None = None) -> Quantity:
    """Return an area, to two digits."""
    return Quantity("area", float(square_metres), decimals)


def speed(metres_per_second: float) -> Quantity:
    """Return a speed, to one decimal."""
    return Quantity("speed", float(metres_per_second))


def share(fraction: float, decimals: int | None = None) -> Quantity:
    """Return a share between 0 and 1, shown in whole per cent."""
    return Quantity("share", float(fraction), decimals)


def angle(degrees: float, decimals: int | None = None) -> Quantity:
    """Return an angle in whole degrees."""
    return Quantity("angle", float(degrees), decimals)


def times(factor: float, decimals: int | None = None) -> Quantity:
    """Return a factor: '1.4 times'."""
    return Quantity("times", float(factor), decimals)


def size(count: int) -> Quantity:
    """Return the size of a file in bytes: '90 MB'."""
    return Quantity("size", float(count))


def day(iso: str) -> Quantity:
    """Return a day from its ISO date."""
    return Quantity("day", iso)
