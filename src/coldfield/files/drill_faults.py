"""Faults of a drill file between its keys: names that occur twice, places outside the ground."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from coldfield.drill.check import ground_faults, place_faults
from coldfield.drill.skills import ABOVE_ZERO
from coldfield.files.drill_model import (
    MOST_ANCHORS,
    MOST_BURIALS,
    MOST_CORNERS,
    MOST_HOLES,
    MOST_SEARCHERS,
    BurialPart,
    PointM,
    ReceiverPart,
    RingM,
)
from coldfield.files.drill_parts import point_of, ring_of
from coldfield.message import Message, message, number

_P = TypeVar("_P", bound=BaseModel)


def faults_between_keys(raw: dict[str, Any], *, anywhere: bool = False) -> list[Message]:
    """Return faults between keys; parts that are faulty themselves are skipped.

    With `anywhere`, burials need not lie on the ground.
    """
    # Entries beyond the most that a drill may hold are a fault already and are not checked one by one.
    burials, searchers = (
        _items(raw.get("burials"))[:MOST_BURIALS],
        _items(raw.get("searchers"))[:MOST_SEARCHERS],
    )
    faults = _repeated_ids(burials, "burials", "id") + _repeated_ids(searchers, "searchers", "id")
    site = raw.get("site")
    if isinstance(site, dict):
        faults += _repeated_ids(_items(site.get("anchors"))[:MOST_ANCHORS], "site.anchors", "name")
        faults += _ground_faults(site, [] if anywhere else burials)
    for i, item in enumerate(burials):
        burial = _usable(BurialPart, item)
        faults += _burial_faults(burial, f"burials[{i}]") if burial else []
    for i, item in enumerate(searchers):
        if isinstance(item, dict):
            faults += _searcher_faults(item, f"searchers[{i}]")
    return faults


def _items(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _usable(model: type[_P], value: object) -> _P | None:
    try:
        return model.model_validate(value)
    except ValidationError:
        return None


_STRICT = ConfigDict(strict=True, allow_inf_nan=False)
_POINT: TypeAdapter[list[float]] = TypeAdapter(PointM, config=_STRICT)
_RING: TypeAdapter[list[list[float]]] = TypeAdapter(RingM, config=_STRICT)
_V = TypeVar("_V")


def _usable_value(adapter: TypeAdapter[_V], value: object) -> _V | None:
    try:
        return adapter.validate_python(value)
    except ValidationError:
        return None


def _ground_faults(site: dict[str, Any], burials: list[Any]) -> list[Message]:
    boundary = _usable_value(_RING, site.get("boundary_m"))
    holes = [_usable_value(_RING, hole) for hole in _items(site.get("holes_m"))[:MOST_HOLES]]
    corners = sum(len(hole) for hole in holes if hole is not None)
    if corners > MOST_CORNERS:
        return [message("fault.holes_corners", n=corners, most=MOST_CORNERS).at("site.holes_m")]
    if boundary is None or None in holes:
        return []
    rings = tuple(ring_of(hole) for hole in holes if hole is not None)
    faults = ground_faults(ring_of(boundary), rings)
    if faults:
        return faults
    for i, item in enumerate(burials):
        point = _usable_value(_POINT, item.get("position_m")) if isinstance(item, dict) else None
        if point is not None:
            faults += place_faults(point_of(point), ring_of(boundary), rings, f"burials[{i}].position_m")
    return faults


def _repeated_ids(items: list[Any], where: str, key: str) -> list[Message]:
    faults, seen = list[Message](), set[str]()
    for i, item in enumerate(items):
        one = item.get(key) if isinstance(item, dict) else None
        if isinstance(one, str) and one in seen:
            faults.append(message("fault.id_twice", id=one).at(f"{where}[{i}].{key}"))
        elif isinstance(one, str):
            seen.add(one)
    return faults


def _burial_faults(burial: BurialPart, where: str) -> list[Message]:
    faults: list[Message] = []
    if burial.transmitter is not None:
        if burial.antenna is None:
            faults.append(message("fault.antenna_needed").at(f"{where}.antenna"))
        if burial.transmitter.pulse_s >= burial.transmitter.period_s:
            faults.append(message("fault.pulse_longer").at(f"{where}.transmitter.pulse_s"))
    return faults


def _searcher_faults(raw: dict[str, Any], where: str) -> list[Message]:
    faults: list[Message] = []
    receiver = _usable(ReceiverPart, raw.get("receiver"))
    if receiver is not None:
        given = [receiver.coaxial_range_m is not None, receiver.threshold_na_per_m is not None]
        if sum(given) != 1:
            both = message("fault.range_and_threshold")
            neither = message("fault.range_or_threshold")
            faults.append((both if all(given) else neither).at(f"{where}.receiver"))
        factors = receiver.antenna_factors
        if factors is not None and len(factors) != receiver.antennas:
            count = message("fault.antenna_factors_count", n=len(factors), antennas=receiver.antennas)
            faults.append(count.at(f"{where}.receiver.antenna_factors"))
        elif factors is not None and min(factors) != 1.0:
            faults.append(message("fault.antenna_factors_best").at(f"{where}.receiver.antenna_factors"))
    skill = raw.get("skill")
    if isinstance(skill, dict):
        faults += [
            message("fault.above", low=number(0.0)).at(f"{where}.skill.{name}")
            for name in ABOVE_ZERO
            if isinstance(told := skill.get(name), (int, float)) and not isinstance(told, bool) and told == 0
        ]
    if raw.get("probe") is False and isinstance(raw.get("probe_length_m"), (int, float)):
        faults.append(message("fault.probe_length_given").at(f"{where}.probe"))
    return faults
