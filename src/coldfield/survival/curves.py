"""Published survival curves of people buried by avalanches, each from the moment of burial.

Only points printed in a publication, or on a page that quotes it, are used; no curve was digitised.
Coldfield draws straight lines between the points; that choice is ours, not the authors'.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.errors import OutOfModel
from coldfield.message import Message, message

Standing = Literal["seen", "second-hand", "memory", "choice"]
"""How a value is known: the text was seen; it was quoted elsewhere; from memory."""

BETWEEN = message("note.survival_lines")


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """One point of a curve: `survival` after `minutes` under the snow, and how it is known.

    `low` and `high` are the printed range or confidence interval, if there is one.
    """

    minutes: float
    survival: float
    standing: Standing
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Survival against time under the snow, as far as it is published.

    Attributes
    ----------
    name : str
        Country and years of the accidents; the key in answers and records.
    label : Message
        The name in words.
    points : tuple of CurvePoint
        In order of time; the start, 1 at 0 min, is not among them.
    source, where : str
        The publication, or a page that quotes it if only that was seen.
    before, after : str
        What is assumed before the first point and after the last one.

    Examples
    --------
    >>> CURVES["Canada 1980-2005"].survival([0, 600, 2100]).tolist()
    [1.0, 0.77, 0.07]
    """

    name: str
    label: Message
    points: tuple[CurvePoint, ...]
    source: str
    where: str
    before: str
    after: str
    note: str = ""

    def survival(self, since_burial_s: ArrayLike) -> NDArray[np.float64]:
        """Return the share of buried people alive after a time under the snow.

        Parameters
        ----------
        since_burial_s : array_like, shape (...)
            Time under the snow, s. Not the clock of a run: that starts at the alarm.

        Returns
        -------
        ndarray, shape (...)
            Between 0 and 1, never rising with time; nan where the time is nan.

        Raises
        ------
        OutOfModel
            If a time is negative.

        Notes
        -----
        Straight lines between printed points. Another monotone curve through the same points could
        differ by about 0.1 between 15 and 35 min, where survival falls most.
        """
        seconds = np.asarray(since_burial_s, dtype=np.float64)
        if (seconds < 0.0).any():
            raise OutOfModel(message("fault.time_negative"))
        minutes = np.array([0.0, *(p.minutes for p in self.points)])
        alive = np.array([1.0, *(p.survival for p in self.points)])
        return np.asarray(np.interp(seconds / 60.0, minutes, alive))

    def standing_at(self, since_burial_s: float) -> Standing:
        """Return how the points behind a value are known: the weaker of its two neighbours."""
        order: tuple[Standing, ...] = ("seen", "second-hand", "memory", "choice")
        minutes = since_burial_s / 60.0
        before = [p.standing for p in self.points if p.minutes <= minutes][-1:]
        after = [p.standing for p in self.points if p.minutes >= minutes][:1]
        return max(before + after, key=order.index)


_FROM_ONE = "a straight line from 1 at the moment of burial to the first point: our choice"
_HELD = "held at the last point: nothing later is published here, so late values are too kind"

_CURVES = (
    Curve(
        name="Switzerland 1981-1991",
        label=message("term.curve.switzerland_1981_1991"),
        points=(
            CurvePoint(minutes=15, survival=0.92, standing="seen"),
            CurvePoint(minutes=35, survival=0.30, standing="seen"),
            CurvePoint(minutes=90, survival=0.30, standing="seen"),
            CurvePoint(minutes=130, survival=0.03, standing="memory"),
        ),
        source="Falk, Brugger & Adler-Kastner 1994, Avalanche survival chances, Nature 368:21",
        where="Nature 368, page 21",
        before=_FROM_ONE,
        after=_HELD,
        note="flat from 35 to about 90 min; the value at 130 min is from memory",
    ),
    Curve(
        name="Switzerland (2001 curve)",
        label=message("term.curve.switzerland_2001"),
        points=(
            CurvePoint(minutes=18, survival=0.91, standing="second-hand"),
            CurvePoint(minutes=35, survival=0.34, standing="second-hand"),
            CurvePoint(minutes=90, survival=0.34, standing="second-hand"),
            CurvePoint(minutes=130, survival=0.07, standing="memory"),
        ),
        source="Brugger et al. 2001, Resuscitation 51:7-15 (volume and pages from memory)",
        where="as quoted by Haegeli et al. 2011, CMAJ 183:789-795",
        before=_FROM_ONE,
        after=_HELD,
        note="flat from 35 to 90 min; the value at 130 min is from memory",
    ),
    Curve(
        name="Canada 1980-2005",
        label=message("term.curve.canada_1980_2005"),
        points=(
            CurvePoint(minutes=10, survival=0.77, standing="second-hand"),
            CurvePoint(minutes=35, survival=0.07, standing="second-hand"),
        ),
        source="Haegeli et al. 2011, Comparison of avalanche survival patterns, CMAJ 183:789-795",
        where="quoted by later papers",
        before=_FROM_ONE,
        after=_HELD,
    ),
    Curve(
        name="Austria and Switzerland 2005-2013",
        label=message("term.curve.austria_and_switzerland"),
        points=(
            CurvePoint(minutes=10, survival=0.89, standing="second-hand", low=0.87, high=0.91),
            CurvePoint(minutes=35, survival=0.265, standing="second-hand", low=0.25, high=0.28),
        ),
        source="Procter et al. 2016, Avalanche survival after rescue, Resuscitation 105:173-176",
        where="abstract, and pages that quote it",
        before=_FROM_ONE,
        after=_HELD,
        note="the middle of the printed ranges of the two countries",
    ),
    Curve(
        name="Switzerland 1981-2020",
        label=message("term.curve.switzerland_1981_2020"),
        points=(
            CurvePoint(minutes=10, survival=0.91, standing="seen", low=0.80, high=1.00),
            CurvePoint(minutes=30, survival=0.31, standing="second-hand", low=0.11, high=0.50),
            CurvePoint(minutes=90, survival=0.31, standing="choice"),
            CurvePoint(minutes=130, survival=0.07, standing="memory"),
        ),
        source="Rauch et al. 2024, Avalanche survival rates, JAMA Netw Open 7(9):e2435253",
        where="abstract, and pages that quote it",
        before=_FROM_ONE,
        after=_HELD,
        note="after 30 min not of this publication: flat to 90 min, then the tail of the 2001 curve",
    ),
)

CURVES: Mapping[str, Curve] = MappingProxyType({curve.name: curve for curve in _CURVES})
"""All curves by name."""

DEFAULT = CURVES["Switzerland 1981-2020"]
"""The curve used if none is named; the others are always shown beside it as a range."""


def survival_range(since_burial_s: float) -> tuple[float, float]:
    """Return the lowest and the highest survival over all curves after a time under the snow, s.

    Raises
    ------
    OutOfModel
        If the time is negative.

    Examples
    --------
    >>> low, high = survival_range(15 * 60)
    >>> round(low, 2), round(high, 2)
    (0.63, 0.93)
    """
    values = [float(curve.survival(since_burial_s)) for curve in CURVES.values()]
    return min(values), max(values)
