"""The sets of the kit as receivers of a drill: the range of each, and its source."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Literal

from coldfield.app.kit.range_tests import against_middle_m, all_of, fit
from coldfield.beacon.calibration import Calibration
from coldfield.errors import ColdfieldError
from coldfield.records.database import Database
from coldfield.records.store import Record, Store

USABLE = ("in use", "to check")


@dataclass(frozen=True, slots=True, kw_only=True)
class KitReceiver:
    """A set that can be used for searching.

    `coaxial_range_m` is the range for a set of 1 uA/m at 10 m, to 0.1 m. It is fitted to the newest range
    test (`source` 'range test', on the day `held`), otherwise taken from the set's figures ('figures'),
    otherwise null. `antennas` and `antenna_factors` are those of the test; factors are given only if upright
    runs measured them.
    """

    kit_id: str
    label: str
    owner: str | None
    coaxial_range_m: float | None
    source: Literal["range test", "figures"] | None
    held: str | None
    antennas: int | None
    antenna_factors: tuple[float, ...] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KitReceivers:
    """All sets except those out of use or retired, by label."""

    sets: tuple[KitReceiver, ...]


def kit_receivers(database: Database) -> KitReceivers:
    """Return each usable set of the kit as a receiver."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        pieces = [one for one in all_of(store, "kit") if one["kind"] == "set" and one["state"] in USABLE]
        tests = all_of(store, "range_tests")
        owners = {one["owner_id"] for one in pieces if one["owner_id"]}
        names = {one["id"]: one["name"] for one in all_of(store, "people") if one["id"] in owners}
    by_kit: dict[str, list[Record]] = defaultdict(list)
    for one in sorted(tests, key=lambda one: (one["held"], one["id"]), reverse=True):
        by_kit[one["kit_id"]].append(one)
    sets = [_receiver(one, names.get(one["owner_id"]), by_kit[one["id"]]) for one in pieces]
    return KitReceivers(sets=tuple(sorted(sets, key=lambda one: one.label)))


def _receiver(piece: Record, owner: str | None, newest_first: list[Record]) -> KitReceiver:
    known = (piece["figures"] or {}).get("coaxial_range_m")
    test, fitted = next(((one, found) for one in newest_first if (found := _fitted(one))), (None, None))
    if test is None or fitted is None:
        return KitReceiver(
            kit_id=piece["id"],
            label=piece["label"],
            owner=owner,
            coaxial_range_m=known,
            source=None if known is None else "figures",
            held=None,
            antennas=None,
            antenna_factors=None,
        )
    return KitReceiver(
        kit_id=piece["id"],
        label=piece["label"],
        owner=owner,
        coaxial_range_m=round(against_middle_m(fitted), 1),
        source="range test",
        held=test["held"][:10],
        antennas=fitted.receiver.antennas,
        antenna_factors=None
        if fitted.upright_factor is None
        else tuple(round(one, 2) for one in fitted.receiver.antenna_factors),
    )


def _fitted(test: Record) -> Calibration | None:
    """Return the fit; None for a test that cannot be fitted, which the kit's page reports."""
    try:
        return fit(test)
    except ColdfieldError:
        return None
