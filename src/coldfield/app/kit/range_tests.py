"""Kit that is due for a check, and what its range tests show: drift, the weakest set, today's width."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from coldfield.beacon.calibration import Calibration, calibrate
from coldfield.drill.burial import Transmitter
from coldfield.drill.searcher import Receiver
from coldfield.errors import ColdfieldError
from coldfield.message import Message
from coldfield.records.database import Database
from coldfield.records.store import Record, Store
from coldfield.search.width.lateral_range import Pair
from coldfield.search.width.strip_width import edge_width_m

YEAR_DAYS = 365.25
DRIFT_ERRORS = 2.0
"""The number of standard errors above which a change counts as drift. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeOfTest:
    """One test: the fitted range on the axis with its standard error, m."""

    id: str
    held: str
    range_m: float
    error_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SetRanges:
    """The tests of one set, oldest first; `drift_m_per_year` is null for tests on fewer than two days.

    `drifts`: the change exceeds two of its standard errors.
    """

    kit_id: str
    label: str
    tests: tuple[RangeOfTest, ...]
    drift_m_per_year: float | None
    drift_error_m_per_year: float | None
    drifts: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DueKit:
    """A piece of kit that is due for a check."""

    id: str
    label: str
    next_check: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthOfGroup:
    """The effect of the weakest set on the width, m, in quiet conditions, for a set of middle strength.

    `without_m` is the edge width if the next weakest set decided. `weak_transmitter_m` is everybody's width
    for a set that sends `weak_field_ua_per_m`: the weakest measured in the kit or, if none was measured, the
    weakest that the standard allows.
    """

    weakest: str
    range_m: float
    width_m: float
    without_m: float | None
    weak_transmitter_m: float | None
    weak_field_ua_per_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KitRanges:
    """A summary of the kit's range tests; `faults` lists tests that could not be fitted."""

    today: str
    due: tuple[DueKit, ...]
    sets: tuple[SetRanges, ...]
    group: WidthOfGroup | None
    faults: tuple[Message, ...]


WEAKEST_LEGAL_A_PER_M = 0.5e-6
"""Weakest field on the axis at 10 m: 0.5 uA/m (EN 300 718-1, from memory)."""


def kit_ranges(database: Database, today: str | None = None) -> KitRanges:
    """Return what is due, and what the range tests of all sets in use show."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        pieces = all_of(store, "kit")
        tests = all_of(store, "range_tests")
    day = today or database.stamp()[:10]
    due = [
        DueKit(id=one["id"], label=one["label"], next_check=one["next_check"])
        for one in pieces
        if one["next_check"]
        and one["next_check"][:10] <= day
        and one["state"] not in ("out of use", "retired")
    ]
    by_kit: dict[str, list[Record]] = defaultdict(list)
    for one in tests:
        by_kit[one["kit_id"]].append(one)
    sets, fitted, faults = [], {}, []
    for piece in pieces:
        own = sorted(by_kit.get(piece["id"], []), key=lambda one: (one["held"], one["id"]))
        found = []
        for one in own:
            try:
                found.append((one, fit(one)))
            except ColdfieldError as error:
                faults.append(error.message.at(piece["label"], one["held"][:10]))
        if found:
            sets.append(_ranges(piece, found))
            if piece["state"] in ("in use", "to check"):
                fitted[piece["label"]] = found[-1][1]
    return KitRanges(
        today=day,
        due=tuple(sorted(due, key=lambda one: one.next_check)),
        sets=tuple(sets),
        group=_group(fitted, _weakest_field(pieces)),
        faults=tuple(faults),
    )


def all_of(store: Store, kind: str) -> list[Record]:
    """Return every record of a kind."""
    found: list[Record] = []
    while page := store.page(kind, after=found[-1]["id"] if found else None, limit=500):
        found += page
    return found


def fit(one: Record) -> Calibration:
    """Return the receiver fitted to one range test."""
    return calibrate(
        coaxial_runs_m=tuple(one["coaxial_m"]),
        coplanar_runs_m=tuple(one["coplanar_m"]),
        upright_runs_m=tuple(one["upright_m"]),
        reference_field_at_10m_a_per_m=1e-6 * one["field_at_10m_ua_per_m"],
        antennas=one["antennas"],
    )


def _ranges(piece: Record, found: Sequence[tuple[Record, Calibration]]) -> SetRanges:
    tests = tuple(
        RangeOfTest(
            id=one["id"],
            held=one["held"][:10],
            range_m=against_middle_m(fitted),
            error_m=fitted.coaxial_range_error_m * against_middle_m(fitted) / fitted.coaxial_range_m,
        )
        for one, fitted in found
    )
    slope, error = drift(tests)
    return SetRanges(
        kit_id=piece["id"],
        label=piece["label"],
        tests=tests,
        drift_m_per_year=slope,
        drift_error_m_per_year=error,
        drifts=slope is not None and error is not None and abs(slope) > DRIFT_ERRORS * error,
    )


def against_middle_m(fitted: Calibration) -> float:
    """Return the range on the axis for a set of 1 uA/m, m, so that tests can be compared."""
    return float(Pair(receiver=fitted.receiver, transmitter=Transmitter()).coaxial_range_m())


def drift(tests: Sequence[RangeOfTest]) -> tuple[float | None, float | None]:
    """Return the change of a range, m per year, and its standard error.

    The slope of a straight line weighted by the errors of the tests. Its error is increased if the tests
    scatter more than their errors say. None for tests on a single day.
    """
    years = np.array([date.fromisoformat(one.held).toordinal() / YEAR_DAYS for one in tests])
    if len(tests) < 2 or np.ptp(years) < 1.0 / YEAR_DAYS:
        return None, None
    weight = np.array([one.error_m for one in tests]) ** -2.0
    reach = np.array([one.range_m for one in tests])
    at = years - np.average(years, weights=weight)
    spread = float(np.sum(weight * at**2))
    middle = float(np.average(reach, weights=weight))
    slope = float(np.sum(weight * at * (reach - middle)) / spread)
    rest = reach - middle - slope * at
    wider = float(np.sum(weight * rest**2)) / (len(tests) - 2) if len(tests) > 2 else 1.0
    return slope, float(np.sqrt(max(wider, 1.0) / spread))


def _weakest_field(pieces: Sequence[Record]) -> float:
    """Return the weakest field on the axis at 10 m measured for a set in use, A/m."""
    told = [
        1e-6 * field
        for one in pieces
        if one["state"] in ("in use", "to check")
        and (field := (one["figures"] or {}).get("field_at_10m_ua_per_m")) is not None
    ]
    return min(told, default=WEAKEST_LEGAL_A_PER_M)


def _group(fitted: dict[str, Calibration], weak_a_per_m: float) -> WidthOfGroup | None:
    """Return the weakest set by the newest tests, and the widths that follow from it."""
    if not fitted:
        return None
    order = sorted(fitted, key=lambda label: against_middle_m(fitted[label]))
    weakest = fitted[order[0]]
    return WidthOfGroup(
        weakest=order[0],
        range_m=against_middle_m(weakest),
        width_m=_width(weakest.receiver),
        without_m=_width(fitted[order[1]].receiver) if len(order) > 1 else None,
        weak_transmitter_m=_width(weakest.receiver, Transmitter(field_at_10m_a_per_m=weak_a_per_m)),
        weak_field_ua_per_m=1e6 * weak_a_per_m,
    )


def _width(receiver: Receiver, transmitter: Transmitter | None = None) -> float:
    return float(edge_width_m(Pair(receiver=receiver, transmitter=transmitter or Transmitter())))
