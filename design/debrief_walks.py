"""What truly happened in a run of the second walker: everybody's walk and their ways to the burials."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from coldfield.drill import Drill, Receiver


@dataclass
class Chase:
    """What truly happened on one way to a burial; moments in s from the alarm.

    `wrong_m` is how far somebody went the wrong way, `farther_m` by how much that took them away from the
    set: in distance or by its reading, whichever is more.
    """

    who: str
    burial: str
    heard_s: float
    turn_s: float
    between_rad: float = 0.0
    wrong_m: float = 0.0
    farther_m: float = 0.0
    wrong_s: float = 0.0
    least_m: float = np.inf
    near_s: float = np.nan
    near_m_s: float = np.nan
    fine_s: float = np.nan
    low_s: float = np.nan
    strike_s: float = np.nan
    clear_s: float = np.nan


@dataclass
class Walker:
    """One person: who, where, what they do, and what they did."""

    who: str
    start: np.ndarray
    heading: float
    speed: float
    flaws: frozenset[str]
    place: np.ndarray = field(default_factory=lambda: np.zeros(2))
    state: str = "lane"
    until: float = 0.0
    along: float = 0.0
    aim: np.ndarray = field(default_factory=lambda: np.zeros(2))
    from_set: np.ndarray = field(default_factory=lambda: np.zeros(2))
    hand: float = 0.0
    way: float = 0.0
    chase: Chase | None = None
    rest: list[np.ndarray] = field(default_factory=list)
    t: list[float] = field(default_factory=list)
    places: list[np.ndarray] = field(default_factory=list)
    states: list[str] = field(default_factory=list)


@dataclass(frozen=True, eq=False)
class Walk:
    """What one person truly did, second by second: from before the alarm to the end."""

    who: str
    t_s: np.ndarray
    place_m: np.ndarray
    states: tuple[str, ...]
    flaws: frozenset[str]


@dataclass(frozen=True, eq=False)
class TrueRun:
    """One run as it truly was, with the drill as it was planned.

    `receiver` is what everybody truly carried: its range differs a little from that in the drill.
    `unfinished` are who and burial of ways that never came to a free airway.
    """

    drill: Drill
    receiver: Receiver
    walks: tuple[Walk, ...]
    chases: tuple[Chase, ...]
    unfinished: frozenset[tuple[str, str]]
    idle_s: dict[str, tuple[float, float]]
    end_s: float
