"""The parts of a drill file to objects, degrees to radians, and back."""

from __future__ import annotations

from dataclasses import fields
from math import degrees, radians
from typing import Any

from coldfield.drill.burial import Antenna, Burial, Transmitter
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
from coldfield.drill.skills import CONSTANTS, SHARED, SKILLS, SPREADS, Skill, Spread
from coldfield.files.drill_model import (
    BurialPart,
    ConditionsPart,
    DrillPart,
    ReceiverPart,
    SearcherPart,
    SitePart,
    skill_key,
)


def point_of(value: list[float]) -> Point:
    """Return a place."""
    return (float(value[0]), float(value[1]))


def ring_of(value: list[list[float]]) -> Ring:
    """Return a ring of corners without repeating the first one at the end."""
    corners = [point_of(p) for p in value]
    return tuple(corners[:-1] if len(corners) > 3 and corners[0] == corners[-1] else corners)


def drill_of(part: DrillPart) -> Drill:
    """Return the drill made of valid parts."""
    return Drill(
        name=part.name,
        site=_site(part.site),
        burials=tuple(_burial(b) for b in part.burials),
        searchers=tuple(_searcher(s) for s in part.searchers),
        conditions=_conditions(part.conditions),
    )


def _conditions(part: ConditionsPart) -> Conditions:
    told = part.model_dump()
    heading = told.pop("lane_heading_deg")
    return Conditions(**told, lane_heading_rad=None if heading is None else radians(heading))


def conditions_value(conditions: Conditions) -> dict[str, Any]:
    """Return conditions as in the drill file."""
    told = {f.name: getattr(conditions, f.name) for f in fields(Conditions)}
    heading = told.pop("lane_heading_rad")
    return {**told, "lane_heading_deg": None if heading is None else _deg(heading)}


def _site(part: SitePart) -> Site:
    return Site(
        origin=Origin(
            latitude_rad=radians(part.origin.latitude_deg),
            longitude_rad=radians(part.origin.longitude_deg),
            elevation_m=float(part.origin.elevation_m),
        ),
        boundary_m=ring_of(part.boundary_m),
        entry_m=point_of(part.entry_m),
        holes_m=tuple(ring_of(h) for h in part.holes_m),
        slope_rad=radians(part.slope_deg),
        aspect_rad=radians(part.aspect_deg),
        declination_rad=None if part.declination_deg is None else radians(part.declination_deg),
        last_seen_m=None if part.last_seen_m is None else point_of(part.last_seen_m),
        anchors=tuple(Anchor(name=a.name, position_m=point_of(a.position_m)) for a in part.anchors),
    )


def _burial(part: BurialPart) -> Burial:
    # The antenna of a burial without a set does not matter; level and north is used.
    azimuth_deg = part.antenna.azimuth_deg if part.antenna else 0.0
    tilt_deg = part.antenna.tilt_deg if part.antenna else 0.0
    body_deg = azimuth_deg if part.body_azimuth_deg is None else part.body_azimuth_deg
    sent = part.transmitter
    return Burial(
        id=part.id,
        position_m=point_of(part.position_m),
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
        set_label=part.set,
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
    """Return `spread` and `shared` of a skill object; the table supplies whatever it leaves out."""
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
    # 12 digits, so that a value survives the round trip unchanged.
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


def burial_value(burial: Burial) -> dict[str, Any]:
    """Return an entry of the key `burials`."""
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


def searcher_value(searcher: Searcher) -> dict[str, Any]:
    """Return an entry of the key `searchers`."""
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
        **({} if searcher.set_label is None else {"set": searcher.set_label}),
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
