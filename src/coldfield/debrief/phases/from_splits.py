"""The phases of a run from its splits alone: for people without a track, and without a named person."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp

from coldfield.debrief.clocks.run_splits import RunSplits
from coldfield.debrief.phases.phase import Phase, timed_phase
from coldfield.debrief.written import Code, Many, Word, Written
from coldfield.drill.beliefs import from_10_m
from coldfield.drill.burial import Burial

NEEDS = {
    "signal": ("alarm", "first_signal"),
    "coarse": ("first_signal", "within_10_m"),
    "fine": ("within_10_m", "lowest_reading"),
    "probe": ("lowest_reading", "probe_strike"),
    "dig": ("probe_strike", "airway_clear"),
}
"""The splits that each phase needs without a track."""

FINDERS = ("probe_strike", "lowest_reading", "within_10_m", "first_signal")
"""The finder of a burial is the person named with the first of these splits that has a name."""

TURN_S = 5.0
"""The time from the first signal to the turn, needed to stop and take the direction, s. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownPhase(Written):
    """An unknown phase at a burial, and the missing splits (none: they contradict each other)."""

    burial: Word
    phase: Code
    missing: Many[Code] = ()


def split_phases(searcher: str | None, splits: RunSplits, *, from_alarm: bool) -> list[Phase]:
    """Return a searcher's phases from splits alone, in order of time.

    Parameters
    ----------
    searcher : str or None
        Their id; None for phases without a named person.
    splits : RunSplits
        All splits of the run. A split without a name counts for the finder of its burial.
    from_alarm : bool
        Whether the run counts from its alarm; signal search is unknown otherwise.

    Notes
    -----
    Signal search ends with the first signal. Coarse search ends some time after the reading of 10 m: the time
    to walk to a reading of 3 m (`coldfield.drill.beliefs.from_10_m`), whose uncertainty applies to both
    borders. A second signal search begins with the strike before it, and is unknown if nobody is named.
    """
    burials = dict.fromkeys(row.burial for row in splits.rows if row.burial is not None)
    mine = {burial: _moments(searcher, burial, splits) for burial in burials}
    mine = {burial: told for burial, told in mine.items() if told}
    phases: list[Phase] = []
    for burial in sorted(mine, key=lambda one: min(mine[one].values())):
        since = _since(searcher, burial, mine, splits) if from_alarm else None
        phases += _searched(burial, mine[burial], since)
        phases += _found(burial, mine[burial], splits)
    return sorted(phases, key=lambda p: (p.start_s, p.end_s))


def finder_of(burial: str, splits: RunSplits) -> str | None:
    """Return the finder of a burial by its splits, or None."""
    return next((who for kind in FINDERS if (who := splits.who(kind, burial)) is not None), None)


def unknown_phases(
    burials: Sequence[Burial], phases: Iterable[Phase], splits: RunSplits
) -> list[UnknownPhase]:
    """Return the unknown phases of a run without tracks, burial by burial.

    A burial without a set has no search by signal, and its strike may come from a probing line, so only its
    digging can be unknown.
    """
    if all(row.split == "observation" for row in splits.rows):
        return []  # no times were taken
    known = {(one.burial, one.phase) for one in phases}
    told = {(row.burial, row.split) for row in splits.rows}
    alarm = any(row.split == "alarm" for row in splits.rows)
    found = []
    for burial in burials:
        for phase, needs in NEEDS.items():
            if (burial.id, phase) in known or (burial.transmitter is None and phase != "dig"):
                continue
            missing = [s for s in needs if not (alarm if s == "alarm" else (burial.id, s) in told)]
            found.append(UnknownPhase(burial=burial.id, phase=phase, missing=tuple(missing)))
    return found


def _moments(searcher: str | None, burial: str, splits: RunSplits) -> dict[str, float]:
    """Return the first moment of each split of this person at a burial."""
    own = {searcher, None} if finder_of(burial, splits) == searcher else {searcher} - {None}
    told: dict[str, float] = {}
    for row in splits.rows:
        if row.burial == burial and row.split in FINDERS and row.searcher in own:
            told.setdefault(row.split, row.t_s)
    return told


def _since(
    searcher: str | None, burial: str, mine: Mapping[str, Mapping[str, float]], splits: RunSplits
) -> float | None:
    """Return when the signal search that led to a burial began; None if unknown."""
    first = mine[burial].get("first_signal")
    if first is None:
        return None
    ended = FINDERS[:2]
    if searcher is None:  # the unknown person may have been at another burial before
        elsewhere = (r for r in splits.rows if r.burial not in (None, burial) and r.split in ended)
        return None if any(row.t_s <= first for row in elsewhere) else 0.0
    others = (told for other, told in mine.items() if other != burial)
    return max(
        (t for told in others for split, t in told.items() if split in ended and t <= first), default=0.0
    )


def _searched(burial: str, told: dict[str, float], since_s: float | None) -> list[Phase]:
    """Return signal, coarse and fine search, as far as the splits give them."""
    first, near, lowest = (told.get(s) for s in ("first_signal", "within_10_m", "lowest_reading"))
    phases = []
    if since_s is not None and first is not None:
        phases.append(timed_phase(burial, "signal", since_s, first, TURN_S))
    if near is None:
        return phases
    usual = from_10_m()
    border = near + usual.middle_s
    doubt = usual.middle_s * (exp(1.96 * usual.spread) - 1.0)
    if lowest is not None:
        border = min(border, max(near, lowest))
        doubt = min(doubt, max(lowest - border, border - near))
    if first is not None and near >= first:
        phases.append(timed_phase(burial, "coarse", first, border, max(doubt, TURN_S)))
    if lowest is not None and lowest >= near:
        phases.append(timed_phase(burial, "fine", border, lowest, doubt))
    return phases


def _found(burial: str, told: dict[str, float], splits: RunSplits) -> list[Phase]:
    """Return probing and digging, as far as the splits give them; anybody may clear an airway."""
    lowest, strike = told.get("lowest_reading"), told.get("probe_strike")
    clear = splits.first("airway_clear", burial=burial)
    phases = []
    if lowest is not None and strike is not None and strike >= lowest:
        phases.append(timed_phase(burial, "probe", lowest, strike, 0.0))
    if strike is not None and clear is not None and clear >= strike:
        phases.append(timed_phase(burial, "dig", strike, clear, 0.0))
    return phases
