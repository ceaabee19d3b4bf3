"""What a searcher hears at a place of a drill."""

from __future__ import annotations

from dataclasses import replace
from math import degrees

import numpy as np

from coldfield.app.hearing.answers import BurialHeard, SignalAnswer
from coldfield.beacon.hearing import Heard, Sources, carried_point_m, hear, sources_of
from coldfield.beacon.receiver import FARTHEST_M, NEAREST_M, heard_probability, shows_line
from coldfield.drill import Drill, Receiver, Searcher
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput, OutOfModel

NOTES = (
    "free space: ground and snow are left out; over wet ground the field differs by tens of per cent "
    "from 30 m on",
    "each set is judged alone: where several pulse at once, overlapping pulses cannot be told apart",
    "the set is held level; heard means the combined amplitude of its antennas reaches the threshold",
)
FEW_ANTENNAS = (
    "the reading is that of a set that knows the whole field; near a steeply tilted set one or two level "
    "antennas read farther, and lowest beside it: see 'coldfield fine'"
)
ONE_ANTENNA = (
    "a set with one antenna has no line: its holder turns it about and takes the loudest way; how it hears "
    "holds for the heading given"
)
WINDS = (
    "north to south",
    "north-north-east to south-south-west",
    "north-east to south-west",
    "east-north-east to west-south-west",
    "east to west",
    "east-south-east to west-north-west",
    "south-east to north-west",
    "south-south-east to north-north-west",
)


def signal_at(
    drill: Drill,
    at_m: tuple[float, float],
    *,
    height_m: float | None = None,
    heading_rad: float = 0.0,
    searcher: str | None = None,
) -> SignalAnswer:
    """Return what a searcher's receiver hears at a place.

    Parameters
    ----------
    drill : Drill
        Site, burials, searchers and conditions.
    at_m : (float, float)
        Place in plan, m.
    height_m : float, optional
        Height of the set above the snow, at right angles to it, 0 to 10 m; by default as the set is
        carried at the lowest reading there.
    heading_rad : float
        Azimuth the searcher walks along.
    searcher : str, optional
        Id or name; by default the first.

    Raises
    ------
    OutOfModel
        If the place lies within 0.1 m of a set or more than 200 m from one.
    BadInput
        If a figure is not finite or the height is out of its range, or the receiver's figures
        contradict each other.
    UnknownRecord
        If there is no such searcher.
    """
    _check_place(at_m, height_m, heading_rad)
    who = _who(drill, searcher)
    terrain = Plane.of(drill.site)
    sources = sources_of(drill.burials, terrain)
    day = drill.conditions.noise_rise_db
    if height_m is None:
        point, height = carried_point_m(
            sources, who.receiver, terrain, at_m, heading_rad=heading_rad, noise_rise_db=day
        )
        height_m = float(height)
    else:
        point = terrain.at(at_m, height_m)
    distance = _distances(sources, point)
    heard = hear(sources, who.receiver, point, heading_rad=heading_rad, noise_rise_db=day)
    chance = heard_probability(
        who.receiver, heard.field_a_per_m, heading_rad=np.array([heading_rad]), noise_rise_db=day
    )
    found = {sources.ids[k]: _described(sources, k, distance, heard, chance) for k in range(len(sources.ids))}
    burials = tuple(found.get(burial.id, BurialHeard(id=burial.id)) for burial in drill.burials)
    if not shows_line(who.receiver):
        burials = tuple(replace(burial, direction_deg=None) for burial in burials)
    return SignalAnswer(
        searcher=who.id,
        at_m=at_m,
        height_m=height_m,
        heading_deg=degrees(heading_rad),
        burials=burials,
        notes=_notes(who.receiver),
    )


def _notes(receiver: Receiver) -> tuple[str, ...]:
    few = () if receiver.antennas == 3 else (FEW_ANTENNAS,)
    return (*NOTES, *few, *(() if shows_line(receiver) else (ONE_ANTENNA,)))


def signal_words(signal: SignalAnswer, drill: Drill) -> list[str]:
    """Return one line per burial of the drill, as a person would say it."""
    lined = shows_line(drill.searcher(signal.searcher).receiver)
    lines = [
        f"{signal.searcher} at {signal.at_m[0]:g} m east, {signal.at_m[1]:g} m north, "
        f"set {signal.height_m:.2f} m above the snow:"
    ]
    for burial in signal.burials:
        if burial.audible is None:
            words = "has no set"
        elif not burial.audible:
            words = f"not heard ({burial.distance_m:.0f} m away)"
        else:
            line = line_words(burial.direction_deg) if lined else "has no line: one antenna, turn it"
            words = f"reads {burial.reading_m:g} m, {line}"
            words += f" ({burial.distance_m:.1f} m away)"
        lines.append(f"  {burial.id}: {words}")
    return lines


def line_words(direction_deg: float | None) -> str:
    """Say which way a line runs.

    Examples
    --------
    >>> line_words(45.0), line_words(None)
    ('line runs north-east to south-west', 'no direction')
    """
    if direction_deg is None:
        return "no direction"
    return f"line runs {WINDS[round(direction_deg / 22.5) % 8]}"


def _check_place(at_m: tuple[float, float], height_m: float | None, heading_rad: float) -> None:
    faults = []
    if not np.isfinite(at_m).all():
        faults.append("at: both coordinates must be finite, metres east and north")
    if height_m is not None and not 0.0 <= height_m <= 10.0:
        faults.append("height: must be from 0 to 10 m above the snow")
    if not np.isfinite(heading_rad):
        faults.append("heading: must be finite")
    if faults:
        raise BadInput(faults)


def _who(drill: Drill, searcher: str | None) -> Searcher:
    if searcher is not None:
        return drill.searcher(searcher)
    if not drill.searchers:
        raise BadInput("this drill has no searchers, so no receiver to hear with")
    return drill.searchers[0]


def _distances(sources: Sources, point: np.ndarray) -> np.ndarray:
    distance = np.linalg.norm(point - sources.point_m, axis=-1)
    for burial, r in zip(sources.ids, distance, strict=True):
        if r < NEAREST_M:
            raise OutOfModel(f"{r:.2f} m from set {burial}: closer than {NEAREST_M} m its own size is felt")
        if r > FARTHEST_M:
            raise OutOfModel(f"{r:.0f} m from set {burial}: beyond {FARTHEST_M:.0f} m the model says nothing")
    return np.asarray(distance)


def _described(
    sources: Sources, k: int, distance: np.ndarray, heard: Heard, chance: np.ndarray
) -> BurialHeard:
    reading, direction = float(heard.reading_m[k]), float(heard.direction_rad[k])
    return BurialHeard(
        id=sources.ids[k],
        distance_m=float(distance[k]),
        field_a_per_m=tuple((float(c.real), float(c.imag)) for c in heard.field_a_per_m[k]),
        magnitude_a_per_m=float(heard.magnitude_a_per_m[k]),
        reading_m=None if np.isnan(reading) else reading,
        direction_deg=None if np.isnan(direction) else degrees(direction),
        audible=bool(heard.audible[k]),
        audible_probability=float(chance[k]),
    )
