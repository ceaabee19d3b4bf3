"""How quantities are written: digits by how well each is known, signs as in the language.

The page writes them by the same rules (`frontend/src/words/quantities.ts`); one table of examples
checks both.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from decimal import localcontext
from math import floor, isfinite, log10

from coldfield.message import Quantity, half_minutes

_MOST_DIGITS = 340
"""Digits of the largest float and some decimals, because a damaged file may contain it."""

Word = Callable[..., str]
"""Returns the words of a catalogue key with values filled in, such as ``unit.m`` with `n`."""


def written(quantity: Quantity, locale: str, word: Word) -> str:
    """Return a quantity in words; a value that is not finite is 'not known'.

    Parameters
    ----------
    quantity : Quantity
        The quantity to write.
    locale : str
        The locale whose signs are used; an unknown one is treated as English.
    word : callable
        Returns the words of the units.
    """
    value = quantity.value
    if isinstance(value, str):
        from babel.dates import format_date

        return str(format_date(date.fromisoformat(value), format="long", locale=known(locale)))
    if not isfinite(value):
        return word("none.value")
    if quantity.kind == "number":
        return plain(value, locale, quantity.decimals)
    if quantity.kind == "about":
        return _about(value, word)
    if quantity.kind in _TIMES:
        return _duration(_TIMES[quantity.kind](value), word)
    if quantity.kind == "size":
        return _size(value, locale, word)
    key, scale, usual = _UNITS[quantity.kind]
    value *= scale
    if quantity.kind == "area" and quantity.decimals is None:
        value = _two_digits(value)
    decimals = usual(value) if quantity.decimals is None else quantity.decimals
    return word(key, n=plain(value, locale, decimals))


def plain(value: float, locale: str, decimals: int | None = None) -> str:
    """Return a number with its signs: a true minus sign, and no minus before a zero.

    Examples
    --------
    >>> plain(-0.04, "en", 1), plain(-1234.5, "de", 1), plain(0.05, "en")
    ('0.0', '−1.234,5', '0.05')
    >>> len(plain(1e300, "en")), plain(1e20, "de", 0)
    (401, '100.000.000.000.000.000.000')
    """
    from babel.numbers import format_decimal

    with localcontext(prec=_MOST_DIGITS):
        if decimals is None:
            text = format_decimal(float(f"{value:.6g}"), locale=known(locale), decimal_quantization=False)
        else:
            zeroed = 0.0 if abs(value) < 0.5 * 10**-decimals else _half_away(value, decimals)
            form = "#,##0" + ("." + "0" * decimals if decimals else "")
            text = format_decimal(zeroed, format=form, locale=known(locale))
    return str(text).replace("-", "−")


def known(locale: str) -> str:
    """Return the locale as the library spells it, or English if the library does not know it."""
    from babel.core import Locale, UnknownLocaleError

    try:
        return str(Locale.parse(locale, sep="-"))
    except (UnknownLocaleError, ValueError):
        return "en"


def _half_away(value: float, decimals: int) -> float:
    # Round like browsers: a half goes away from zero, by the decimal digits of the number as written.
    scaled = abs(float(repr(value))) * 10**decimals
    return float((1.0 if value > 0 else -1.0) * floor(scaled + 0.5) / 10**decimals)


def _whole(value: float) -> float:
    return float(floor(value + 0.5))


def _about(seconds: float, word: Word) -> str:
    halves = half_minutes(seconds)
    if halves is not None:
        return word("time.min", m=halves)
    step = 10.0 if seconds >= 60.0 else 1.0
    return _duration(round(seconds / step) * step, word)


def _cost(seconds: float) -> float:
    step = 5.0 if seconds < 60.0 else 10.0
    return max(step, _whole(seconds / step) * step)


def _duration(seconds: float, word: Word) -> str:
    whole = int(_whole(abs(seconds)))
    sign = "−" if seconds < 0 and whole else ""
    minutes, rest = divmod(whole, 60)
    if minutes >= 60 and not whole % 3600:
        return sign + word("time.hours", h=minutes // 60)
    if minutes >= 60 and not rest:
        return sign + word("time.h", h=minutes // 60, m=minutes % 60)
    if not minutes:
        return sign + word("time.s", s=rest)
    if not rest:
        return sign + word("time.min", m=minutes)
    return sign + word("time.minS", m=minutes, s=rest)


def _size(count: float, locale: str, word: Word) -> str:
    for key, unit in (("unit.mb", 1e6), ("unit.kb", 1e3)):
        if count >= unit:
            return word(key, n=plain(count / unit, locale, 0 if count >= 10 * unit else 1))
    return word("unit.byte", n=plain(count, locale, 0))


def _two_digits(value: float) -> float:
    step = 10.0 ** max(0, floor(log10(max(value, 1.0))) - 1)
    return _whole(value / step) * step


_TIMES: Mapping[str, Callable[[float], float]] = {"duration": float, "cost": _cost}

_UNITS: Mapping[str, tuple[str, float, Callable[[float], int]]] = {
    "length": ("unit.m", 1.0, lambda value: 1 if abs(value) < 9.95 else 0),
    "area": ("unit.m2", 1.0, lambda _: 0),
    "speed": ("unit.speed", 1.0, lambda _: 1),
    "share": ("unit.percent", 100.0, lambda _: 0),
    "angle": ("unit.deg", 1.0, lambda _: 0),
    "times": ("unit.times", 1.0, lambda _: 1),
}
"""For each kind: the words of its unit, the factor for its value, its digits."""
