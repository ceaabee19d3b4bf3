"""What Coldfield has to say, as data: a code, typed values and a place.

The words stand in one catalogue per language (`coldfield.words`); whatever finds something out says
it by a code, so that it can be said in any language, stored, compared and counted.
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
"""What a quantity measures; how each is written stands in `coldfield.words.quantities`."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with what it measures, in SI units (shares 0 to 1, angles in degrees, sizes in bytes).

    `decimals` overrules how many digits a quantity of its kind has. A day is an ISO date.
    """

    kind: Kind
    value: float | str
    decimals: int | None = None


@dataclass(frozen=True, slots=True)
class Message:
    """One thing to say.

    Parameters
    ----------
    code : str
        Its key in the catalogues, such as ``finding.late_turn``.
    values : mapping
        What is filled into its words. A `str` is put in untouched: a name, an id, somebody's own
        words. An `int` is a count; the one called ``n`` chooses between singular and plural. A
        `Message` is said in the same language, a tuple is a list.
    place : tuple
        Where: from the file inwards. A `str` is put in untouched.

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
        """Return the message with a place in front of the one it has."""
        return replace(self, place=(*parts, *self.place))


Part = str | int | Quantity | Message
"""One entry of a list."""

Value = Part | tuple[Part, ...]
"""What can be filled into a message."""

VERBATIM = "verbatim"
"""The code of words that are in no catalogue."""


def message(code: str, /, **values: Value) -> Message:
    """Return a message without a place.

    Raises
    ------
    TypeError
        If a value is none that a message can hold; a bare float does not say what it measures.
    """
    for name, value in values.items():
        parts = value if isinstance(value, tuple) else (value,)
        if any(isinstance(part, bool) or not isinstance(part, Part) for part in parts):
            raise TypeError(f"{code}: {name} is a {type(value).__name__}, not a value of a message")
    return Message(code, values)


def verbatim(text: str) -> Message:
    """Return words that nobody translates: of a library, of the operating system, of an old document."""
    return Message(VERBATIM, {"text": text})


def number(value: float, decimals: int | None = None) -> Quantity:
    """Return a bare number; to six digits where `decimals` says nothing else."""
    return Quantity("number", float(value), decimals)


def duration(seconds: float) -> Quantity:
    """Return a time to the second: '4 min 20 s'."""
    return Quantity("duration", float(seconds))


def about(seconds: float) -> Quantity:
    """Return a predicted time: half minutes from two on, tens of seconds from one on."""
    return Quantity("about", float(seconds))


HALVES_FROM_S = 115.0
"""From here on a predicted time is said in half minutes, which is two minutes after rounding."""


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
    """Return what something cost: to 5 s below a minute, to 10 s above, never nothing."""
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
    """Return a share between 0 and 1, said in whole per cent."""
    return Quantity("share", float(fraction), decimals)


def angle(degrees: float, decimals: int | None = None) -> Quantity:
    """Return an angle in whole degrees."""
    return Quantity("angle", float(degrees), decimals)


def times(factor: float, decimals: int | None = None) -> Quantity:
    """Return a factor: '1.4 times'."""
    return Quantity("times", float(factor), decimals)


def size(count: int) -> Quantity:
    """Return the size of a file from its bytes: '90 MB'."""
    return Quantity("size", float(count))


def day(iso: str) -> Quantity:
    """Return a day from its ISO date."""
    return Quantity("day", iso)
