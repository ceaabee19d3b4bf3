"""The drill file: JSON text to a `Drill` and back; every fault with its place, all at once."""

from __future__ import annotations

import json
import re
from dataclasses import fields
from math import degrees, radians
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from coldfield.drill.burial import Antenna, Burial, Transmitter
from coldfield.drill.check import ground_faults, place_faults
from coldfield.drill.conditions import Conditions
from coldfield.drill.drill import Drill
from coldfield.drill.searcher import (
    DEFAULT_ANTENNA_FACTORS,
    Receiver,
    Searcher,
    marking_share,
    told_marking,
)
from coldfield.drill.site import Anchor, Origin, Point, Ring, Site
from coldfield.drill.skills import ABOVE_ZERO, CONSTANTS, SHARED, SKILLS, SPREADS, Skill, Spread
from coldfield.errors import BadInput
from coldfield.files.drill_model import (
    FORMAT,
    BurialPart,
    DrillPart,
    PointM,
    ReceiverPart,
    RingM,
    SearcherPart,
    SitePart,
    skill_key,
)
from coldfield.files.faults import fault_lines
from coldfield.files.json_text import parse_json

_Part = TypeVar("_Part", bound=BaseModel)


def read_drill(text: str, source: str = "drill") -> Drill:
    """Return the drill that a drill file describes.

    Parameters
    ----------
    text : str
        The file's content.
    source : str
        The file's name, put before each fault.

    Raises
    ------
    BadInput
        With one line per fault, each with its path, such as
        ``burials[1].depth_m: must be above 0 and at most 10``.
    """
    raw = parse_json(text, source)
    if not isinstance(raw, dict):
        raise BadInput("must be one JSON object with the keys of a drill", source)
    part, faults = _read_keys(raw)
    if faults or part is None:
        raise BadInput(faults, source)
    return _drill(part)


def drill_faults(raw: dict[str, Any]) -> list[str]:
    """Return one line per fault of a drill file's JSON object, in its keys and between them."""
    return _read_keys(raw)[1]


def _read_keys(raw: dict[str, Any]) -> tuple[DrillPart | None, list[str]]:
    wrong = _format_fault(raw.get("format"))
    if wrong:
        return None, [wrong]
    part, faults = None, []
    try:
        part = DrillPart.model_validate(raw)
    except ValidationError as error:
        faults = fault_lines(error, DrillPart)
    return part, faults + _faults_between_keys(raw)


def dragged_drill(part: DrillPart) -> Drill:
    """Return the drill of a file that was read key by key, with its burials wherever they are.

    While a person drags a burial it may pass over a hole or beyond the boundary; what is heard of
    it there can be told all the same. Everything else is checked as by `read_drill`.

    Raises
    ------
    BadInput
        With one line per fault.
    """
    faults = _faults_between_keys(part.model_dump(exclude_unset=True), anywhere=True)
    if faults:
        raise BadInput(faults, "drill")
    return _drill(part)


def write_drill(drill: Drill) -> str:
    """Return a drill as the text of a drill file; `read_drill` of it gives an equal drill."""
    value = {
        "format": FORMAT,
        "name": drill.name,
        "site": site_value(drill.site),
        "burials": [_burial_value(b) for b in drill.burials],
        "searchers": [_searcher_value(s) for s in drill.searchers],
        "conditions": {f.name: getattr(drill.conditions, f.name) for f in fields(Conditions)},
    }
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def drill_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the drill file."""
    schema = DrillPart.model_json_schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Coldfield drill file, version 1",
        **{key: value for key, value in schema.items() if key != "title"},
    }


def is_drill_file(raw: object) -> bool:
    """Tell whether a JSON value says that it is a drill file, of whatever version."""
    return isinstance(raw, dict) and str(raw.get("format")).startswith(FORMAT.partition("/")[0] + "/")


_VERSION = re.compile(r"coldfield-drill/(\d{1,9})(?:\.(\d{1,9}))?")


def _format_fault(told: object) -> str | None:
    """Return what is wrong with the key `format`; a newer version is told apart from nonsense."""
    if told == FORMAT:
        return None
    version = _VERSION.fullmatch(told) if isinstance(told, str) else None
    if version and (int(version[1]), int(version[2] or 0)) > (1, 0):
        return (
            f"format: this drill was made by a newer Coldfield ('{told}'); this one reads '{FORMAT}': "
            "bring Coldfield up to date, then open it again"
        )
    return f"format: must be '{FORMAT}'; this file says {_shown(told)}"


def _shown(value: object) -> str:
    return "nothing" if value is None else repr(value)[:60]


# --- faults that need more than one key -------------------------------------------------------------


def _faults_between_keys(raw: dict[str, Any], *, anywhere: bool = False) -> list[str]:
    """Return faults between keys; parts that are themselves faulty are passed over here.

    With `anywhere` burials need not lie on the ground.
    """
    burials, searchers = _items(raw.get("burials")), _items(raw.get("searchers"))
    faults = _repeated_ids(burials, "burials", "id") + _repeated_ids(searchers, "searchers", "id")
    site = raw.get("site")
    if isinstance(site, dict):
        faults += _repeated_ids(_items(site.get("anchors")), "site.anchors", "name")
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


def _usable(model: type[_Part], value: object) -> _Part | None:
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


def _ground_faults(site: dict[str, Any], burials: list[Any]) -> list[str]:
    boundary = _usable_value(_RING, site.get("boundary_m"))
    holes = [_usable_value(_RING, hole) for hole in _items(site.get("holes_m"))]
    if boundary is None or None in holes:
        return []
    rings = tuple(_ring(hole) for hole in holes if hole is not None)
    faults = ground_faults(_ring(boundary), rings)
    if faults:
        return faults
    for i, item in enumerate(burials):
        point = _usable_value(_POINT, item.get("position_m")) if isinstance(item, dict) else None
        if point is not None:
            faults += place_faults(_point(point), _ring(boundary), rings, f"burials[{i}].position_m")
    return faults


def _repeated_ids(items: list[Any], where: str, key: str) -> list[str]:
    ids = [item.get(key) if isinstance(item, dict) else None for item in items]
    return [
        f"{where}[{i}].{key}: '{one}' stands twice; give each its own"
        for i, one in enumerate(ids)
        if isinstance(one, str) and one in ids[:i]
    ]


def _burial_faults(burial: BurialPart, where: str) -> list[str]:
    faults = []
    if burial.transmitter is not None:
        if burial.antenna is None:
            faults.append(f"{where}.antenna: must be given for a burial with a transmitter")
        if burial.transmitter.pulse_s >= burial.transmitter.period_s:
            faults.append(f"{where}.transmitter.pulse_s: must be shorter than period_s")
    return faults


def _searcher_faults(raw: dict[str, Any], where: str) -> list[str]:
    faults = []
    receiver = _usable(ReceiverPart, raw.get("receiver"))
    if receiver is not None:
        given = [receiver.coaxial_range_m is not None, receiver.threshold_na_per_m is not None]
        if sum(given) != 1:
            faults.append(
                f"{where}.receiver: give either coaxial_range_m or threshold_na_per_m, "
                + ("not both" if all(given) else "one of them")
            )
        factors = receiver.antenna_factors
        if factors is not None and len(factors) != receiver.antennas:
            faults.append(
                f"{where}.receiver.antenna_factors: has {len(factors)} entries for "
                f"{receiver.antennas} antennas; give one for each"
            )
        elif factors is not None and min(factors) != 1.0:
            faults.append(f"{where}.receiver.antenna_factors: the best antenna must have the factor 1")
    skill = raw.get("skill")
    if isinstance(skill, dict):
        faults += [
            f"{where}.skill.{name}: must be above 0"
            for name in ABOVE_ZERO
            if isinstance(told := skill.get(name), (int, float)) and not isinstance(told, bool) and told == 0
        ]
    if raw.get("probe") is False and isinstance(raw.get("probe_length_m"), (int, float)):
        faults.append(f"{where}.probe: is false, yet probe_length_m is given; keep one of them")
    return faults


# --- parts to nouns ---------------------------------------------------------------------------------


def _point(value: list[float]) -> Point:
    return (float(value[0]), float(value[1]))


def _ring(value: list[list[float]]) -> Ring:
    corners = [_point(p) for p in value]
    return tuple(corners[:-1] if len(corners) > 3 and corners[0] == corners[-1] else corners)


def _drill(part: DrillPart) -> Drill:
    return Drill(
        name=part.name,
        site=_site(part.site),
        burials=tuple(_burial(b) for b in part.burials),
        searchers=tuple(_searcher(s) for s in part.searchers),
        conditions=Conditions(**part.conditions.model_dump()),
    )


def _site(part: SitePart) -> Site:
    return Site(
        origin=Origin(
            latitude_rad=radians(part.origin.latitude_deg),
            longitude_rad=radians(part.origin.longitude_deg),
            elevation_m=float(part.origin.elevation_m),
        ),
        boundary_m=_ring(part.boundary_m),
        entry_m=_point(part.entry_m),
        holes_m=tuple(_ring(h) for h in part.holes_m),
        slope_rad=radians(part.slope_deg),
        aspect_rad=radians(part.aspect_deg),
        declination_rad=None if part.declination_deg is None else radians(part.declination_deg),
        last_seen_m=None if part.last_seen_m is None else _point(part.last_seen_m),
        anchors=tuple(Anchor(name=a.name, position_m=_point(a.position_m)) for a in part.anchors),
    )


def _burial(part: BurialPart) -> Burial:
    # A burial without a set has no antenna that matters; level and north stands for it.
    azimuth_deg = part.antenna.azimuth_deg if part.antenna else 0.0
    tilt_deg = part.antenna.tilt_deg if part.antenna else 0.0
    body_deg = azimuth_deg if part.body_azimuth_deg is None else part.body_azimuth_deg
    sent = part.transmitter
    return Burial(
        id=part.id,
        position_m=_point(part.position_m),
        depth_m=float(part.depth_m),
        antenna=Antenna(azimuth_rad=radians(azimuth_deg), tilt_rad=radians(tilt_deg)),
        transmitter=None
        if sent is None
        else Transmitter(
            field_at_10m_a_per_m=_scaled(sent.field_at_10m_ua_per_m, 1e-6),
            period_s=float(sent.period_s),
            pulse_s=float(sent.pulse_s),
            phase_s=float(sent.phase_s),
        ),
        body_azimuth_rad=radians(body_deg),
        outline=part.outline,
        set_label=part.set,
    )


def _searcher(part: SearcherPart) -> Searcher:
    return Searcher(
        id=part.id,
        name=part.name,
        skill=_skill(part.skill),
        receiver=_receiver(part.receiver),
        probe_length_m=None
        if part.probe is False or part.probe_length_m is None
        else float(part.probe_length_m),
        shovel=part.shovel,
    )


def _receiver(part: ReceiverPart) -> Receiver:
    factors = part.antenna_factors
    threshold = part.threshold_na_per_m
    return Receiver(
        coaxial_range_m=part.coaxial_range_m,
        threshold_a_per_m=None if threshold is None else _scaled(threshold, 1e-9),
        vertical_range_m=part.vertical_range_m,
        reference_field_at_10m_a_per_m=_scaled(part.reference_field_at_10m_ua_per_m, 1e-6),
        antennas=part.antennas,
        antenna_factors=DEFAULT_ANTENNA_FACTORS[part.antennas]
        if factors is None
        else tuple(map(float, factors)),
        turning=part.turning,
        marking=marking_share(part.marking),
    )


def _skill(part: Any) -> Skill:
    if isinstance(part, str):
        return SKILLS[part]
    like = SKILLS[part.like]
    own: dict[str, Any] = {"name": like.name}
    for name in CONSTANTS:
        given = getattr(part, skill_key(name))
        if given is None:
            own[name] = getattr(like, name)
        else:
            own[name] = radians(given) if name.endswith("_rad") else given
    return Skill(**own, **_spreads(part))


def _spreads(part: Any) -> dict[str, Any]:
    """Return `spread` and `shared` of a skill object; what it leaves out is the table's."""
    found: dict[str, Any] = {} if part.shared is None else {"shared": float(part.shared)}
    told = {name: getattr(part.spread, skill_key(name), None) for name in CONSTANTS}
    own = {
        name: Spread(
            between=SPREADS[name].between if one.between is None else float(one.between),
            within=SPREADS[name].within if one.within is None else float(one.within),
        )
        for name, one in told.items()
        if one is not None
    }
    return {**found, "spread": {**SPREADS, **own}} if own else found


# --- nouns to plain values --------------------------------------------------------------------------


def _scaled(value: float, unit: float) -> float:
    # 12 digits: so that a value survives the way there and back unchanged.
    return float(f"{value * unit:.12g}")


def _deg(angle_rad: float) -> float:
    return float(f"{degrees(angle_rad):.12g}")


def site_value(site: Site) -> dict[str, Any]:
    """Return the key `site` of a drill file."""
    return {
        "origin": {
            "latitude_deg": _deg(site.origin.latitude_rad),
            "longitude_deg": _deg(site.origin.longitude_rad),
            "elevation_m": site.origin.elevation_m,
        },
        "declination_deg": None if site.declination_rad is None else _deg(site.declination_rad),
        "boundary_m": [list(p) for p in site.boundary_m],
        "holes_m": [[list(p) for p in hole] for hole in site.holes_m],
        "slope_deg": _deg(site.slope_rad),
        "aspect_deg": _deg(site.aspect_rad),
        "entry_m": list(site.entry_m),
        "last_seen_m": None if site.last_seen_m is None else list(site.last_seen_m),
        "anchors": [{"name": a.name, "position_m": list(a.position_m)} for a in site.anchors],
    }


def _burial_value(burial: Burial) -> dict[str, Any]:
    sent = burial.transmitter
    return {
        "id": burial.id,
        "position_m": list(burial.position_m),
        "depth_m": burial.depth_m,
        "antenna": {
            "azimuth_deg": _deg(burial.antenna.azimuth_rad),
            "tilt_deg": _deg(burial.antenna.tilt_rad),
        },
        "transmitter": None
        if sent is None
        else {
            "field_at_10m_ua_per_m": _scaled(sent.field_at_10m_a_per_m, 1e6),
            "period_s": sent.period_s,
            "pulse_s": sent.pulse_s,
            "phase_s": sent.phase_s,
        },
        "body_azimuth_deg": _deg(burial.body_azimuth_rad),
        "outline": burial.outline,
        **({} if burial.set_label is None else {"set": burial.set_label}),
    }


def _searcher_value(searcher: Searcher) -> dict[str, Any]:
    receiver = searcher.receiver
    threshold = receiver.threshold_a_per_m
    value: dict[str, Any] = {
        "coaxial_range_m": receiver.coaxial_range_m,
        "threshold_na_per_m": None if threshold is None else _scaled(threshold, 1e9),
        "vertical_range_m": receiver.vertical_range_m,
        "reference_field_at_10m_ua_per_m": _scaled(receiver.reference_field_at_10m_a_per_m, 1e6),
        "antennas": receiver.antennas,
        "antenna_factors": list(receiver.antenna_factors),
        "turning": receiver.turning,
        "marking": told_marking(receiver.marking),
    }
    return {
        "id": searcher.id,
        "name": searcher.name,
        "skill": _skill_value(searcher.skill),
        "receiver": {key: v for key, v in value.items() if v is not None},
        "probe_length_m": searcher.probe_length_m,
        "shovel": searcher.shovel,
    }


def _skill_value(skill: Skill) -> Any:
    like = SKILLS.get(skill.name, SKILLS["practised"])
    own = {
        skill_key(name): _deg(value) if name.endswith("_rad") else value
        for name in CONSTANTS
        if (value := getattr(skill, name)) != getattr(like, name)
    }
    own |= {} if skill.shared == SHARED else {"shared": skill.shared}
    spread = {
        skill_key(name): {"between": one.between, "within": one.within}
        for name in CONSTANTS
        if (one := skill.spread.get(name, Spread(between=0.0, within=0.0))) != SPREADS[name]
    }
    own |= {"spread": spread} if spread else {}
    return {"like": like.name, **own} if own else like.name
