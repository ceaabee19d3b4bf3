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
from coldfield.message import Message, message, number

NOTES = (message("note.free_space_ground"), message("note.each_alone"), message("note.held_level"))
FEW_ANTENNAS, ONE_ANTENNA = message("note.few_antennas"), message("note.one_antenna")
LINES = (
    message("term.line.n_s"),
    message("term.line.nne_ssw"),
    message("term.line.ne_sw"),
    message("term.line.ene_wsw"),
    message("term.line.e_w"),
    message("term.line.ese_wnw"),
    message("term.line.se_nw"),
    message("term.line.sse_nnw"),
)
"""The direction of a line, in sixteenths of the compass from north."""


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
        Height of the receiver above the snow, perpendicular to it, 0 to 10 m; default: as carried for the
        lowest reading there.
    heading_rad : float
        Azimuth in which the searcher walks.
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


def _notes(receiver: Receiver) -> tuple[Message, ...]:
    few = () if receiver.antennas == 3 else (FEW_ANTENNAS,)
    return (*NOTES, *few, *(() if shows_line(receiver) else (ONE_ANTENNA,)))


def signal_words(signal: SignalAnswer, drill: Drill) -> list[Message]:
    """Return one line of text per burial of the drill."""
    lined = shows_line(drill.searcher(signal.searcher).receiver)
    east, north = (number(value) for value in signal.at_m)
    height = number(signal.height_m, 2)
    head = message("command.signal.at", name=signal.searcher, east=east, north=north, height=height)
    return [head, *(_burial_words(burial, lined) for burial in signal.burials)]


def _burial_words(burial: BurialHeard, lined: bool) -> Message:
    if burial.distance_m is None or burial.audible is None:
        return message("command.signal.no_set", id=burial.id)
    if burial.reading_m is None:
        return message("command.signal.not_heard", id=burial.id, distance=number(burial.distance_m, 0))
    line = line_words(burial.direction_deg) if lined else message("command.signal.one_antenna")
    reading, distance = number(burial.reading_m), number(burial.distance_m, 1)
    return message("command.signal.reads", id=burial.id, reading=reading, line=line, distance=distance)


def line_words(direction_deg: float | None) -> Message:
    """Return the direction of a line in words.

    Examples
    --------
    >>> from coldfield.words import say
    >>> say(line_words(45.0)), say(line_words(None))
    ('line runs north-east to south-west', 'no direction')
    """
    if direction_deg is None:
        return message("command.signal.no_direction")
    return message("command.signal.line", way=LINES[round(direction_deg / 22.5) % 8])


def _check_place(at_m: tuple[float, float], height_m: float | None, heading_rad: float) -> None:
    faults = []
    if not np.isfinite(at_m).all():
        faults.append(message("fault.two_coordinates").at("at"))
    if height_m is not None and not 0.0 <= height_m <= 10.0:
        faults.append(message("fault.height_above_snow").at("height"))
    if not np.isfinite(heading_rad):
        faults.append(message("fault.finite").at("heading"))
    if faults:
        raise BadInput(faults)


def _who(drill: Drill, searcher: str | None) -> Searcher:
    if searcher is not None:
        return drill.searcher(searcher)
    if not drill.searchers:
        raise BadInput(message("fault.no_receiver"))
    return drill.searchers[0]


def _distances(sources: Sources, point: np.ndarray) -> np.ndarray:
    distance = np.linalg.norm(point - sources.point_m, axis=-1)
    for burial, r in zip(sources.ids, distance, strict=True):
        if r < NEAREST_M:
            near = {"distance": number(r, 2), "least": number(NEAREST_M)}
            raise OutOfModel(message("fault.too_near_set", burial=burial, **near))
        if r > FARTHEST_M:
            far = {"distance": number(r, 0), "most": number(FARTHEST_M, 0)}
            raise OutOfModel(message("fault.too_far_from_set", burial=burial, **far))
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
