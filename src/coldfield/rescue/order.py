"""Which burial to dig first with few diggers: every way to share them out, up to four burials."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations

from coldfield.errors import BadInput, OutOfModel
from coldfield.message import message
from coldfield.rescue.digging import seconds_to_airway
from coldfield.survival.curves import DEFAULT, Curve

MOST_BURIALS, MOST_PEOPLE = 4, 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Located:
    """A burial that a probe has struck, `struck_s` after the alarm."""

    id: str
    depth_m: float
    struck_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    """People who stay together, and the burials they dig out, in this order."""

    people: int
    burials: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DigOrder:
    """One way to share out the diggers: airways, s since the alarm, and expected survivors."""

    teams: tuple[Team, ...]
    airway_s: dict[str, float]
    survivors: float


def dig_orders(
    burials: Sequence[Located],
    *,
    people: int,
    rate_kg_s: float,
    burial_to_alarm_s: float,
    walk_s: float = 60.0,
    slope_rad: float = 0.0,
    density_kg_m3: float = 400.0,
    curve: Curve = DEFAULT,
) -> list[DigOrder]:
    """Return every way to dig with `people` diggers, the one with the most expected survivors first.

    Parameters
    ----------
    burials : sequence of Located
        One to four.
    people : int
        Diggers with a shovel, at most 30.
    rate_kg_s : float
        Snow that each of them moves in the first minutes.
    burial_to_alarm_s : float
        Time under the snow when the clock starts.
    walk_s : float
        Time from one burial to the next, shovels in hand.

    Raises
    ------
    BadInput
        If there is no burial or more than four, nobody or more than 30 people, or an id twice.

    Notes
    -----
    The result is exact for teams that stay together: all orders and all ways to form teams are tried. A
    team that has finished does not help another one, so a little more could be gained by regrouping.
    Depth and time are all that is considered; air pockets and injuries are not.
    """
    _check(burials, people)
    found: dict[tuple[Team, ...], DigOrder] = {}
    for teams in _teams(tuple(b.id for b in burials), people):
        if teams in found:
            continue
        found[teams] = _played(
            teams, burials, rate_kg_s, burial_to_alarm_s, walk_s, slope_rad, density_kg_m3, curve
        )
    return sorted(found.values(), key=lambda o: (-o.survivors, len(o.teams), o.teams[0].burials))


def _check(burials: Sequence[Located], people: int) -> None:
    faults = []
    if not 1 <= len(burials) <= MOST_BURIALS:
        faults.append(message("fault.order_count", most=MOST_BURIALS, found=len(burials)).at("burials"))
    if not 1 <= people <= MOST_PEOPLE:
        faults.append(message("fault.from_to_not", low=1, high=MOST_PEOPLE, found=people).at("people"))
    if len({b.id for b in burials}) != len(burials):
        faults.append(message("fault.an_id_twice").at("burials"))
    if faults:
        raise BadInput(faults)


def _teams(ids: tuple[str, ...], people: int) -> Iterator[tuple[Team, ...]]:
    for order in permutations(ids):
        for parts in range(1, min(len(ids), people) + 1):
            for cuts in combinations(range(1, len(ids)), parts - 1):
                rows = [order[a:b] for a, b in zip((0, *cuts), (*cuts, len(ids)), strict=True)]
                for sizes in combinations(range(1, people), parts - 1):
                    counts = [b - a for a, b in zip((0, *sizes), (*sizes, people), strict=True)]
                    made = (Team(people=n, burials=r) for n, r in zip(counts, rows, strict=True))
                    yield tuple(sorted(made, key=lambda team: team.burials))


def _played(
    teams: tuple[Team, ...],
    burials: Sequence[Located],
    rate_kg_s: float,
    burial_to_alarm_s: float,
    walk_s: float,
    slope_rad: float,
    density_kg_m3: float,
    curve: Curve,
) -> DigOrder:
    where = {b.id: b for b in burials}
    airway: dict[str, float] = {}
    for team in teams:
        free_s = 0.0
        for name in team.burials:
            burial = where[name]
            begin = max(free_s, burial.struck_s)
            try:
                dig = seconds_to_airway(
                    depth_m=burial.depth_m,
                    rates_kg_s=[rate_kg_s] * team.people,
                    slope_rad=slope_rad,
                    density_kg_m3=density_kg_m3,
                )
            except OutOfModel as error:
                raise BadInput(error.message.at("burials", f"'{name}'")) from None
            airway[name] = begin + dig.seconds
            free_s = airway[name] + walk_s
    alive = sum(float(curve.survival(t + burial_to_alarm_s)) for t in airway.values())
    return DigOrder(teams=teams, airway_s={b.id: airway[b.id] for b in burials}, survivors=alive)
