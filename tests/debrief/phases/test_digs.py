"""Digging by everybody who was there."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np

from coldfield.app.demo.demo import demo_drill
from coldfield.debrief.clocks.run_splits import RunSplits, TimedSplit
from coldfield.debrief.ground.last_signal import last_first_signal_s
from coldfield.debrief.phases.digs import digs_of, with_digs
from coldfield.debrief.phases.phase import timed_phase

DRILL = demo_drill()
EVERYBODY = [one.id for one in DRILL.searchers]
A = DRILL.burials[0]


def splits(*rows: tuple[float, str | None, str, str]) -> RunSplits:
    return RunSplits(
        rows=tuple(TimedSplit(t_s=t, searcher=who, burial=where, split=kind) for t, who, where, kind in rows)
    )


def walk(away_m: list[tuple[int, float]]) -> Any:
    """A track that is at a distance east of burial A from each given second."""
    t = np.arange(600.0)
    off = np.zeros(600)
    for since, metres in away_m:
        off[since:] = metres
    return SimpleNamespace(t_s=t, position_m=np.array(A.position_m) + np.column_stack([off, 0 * off]))


TOLD = splits((100.0, "ines", "A", "probe_strike"), (500.0, "bram", "A", "airway_clear"))


def test_contract_tracks_tell_who_was_at_the_hole_and_from_when_to_when() -> None:
    walks = {
        "ines": walk([(0, 1.0)]),
        "bram": walk([(0, 60.0), (200, 2.0)]),
        "yuki": walk([(0, 60.0), (300, 2.0), (310, 60.0)]),  # passes by
        "tomas": walk([(0, 60.0)]),
    }
    [dig] = digs_of(DRILL.burials, TOLD, walks, dict.fromkeys(walks, 1.5), EVERYBODY, {})
    assert [(one.searcher, one.start_s, one.end_s) for one in dig.helpers] == [
        ("ines", 100.0, 500.0),
        ("bram", 200.0, 500.0),
    ]
    assert dig.known
    finder_alone = {"ines": (timed_phase("A", "dig", 100.0, 500.0, 0.0),), "bram": ()}
    phases = with_digs(finder_alone, [dig])
    assert {who: [(p.start_s, p.end_s) for p in mine] for who, mine in phases.items()} == {
        "ines": [(100.0, 500.0)],
        "bram": [(200.0, 500.0)],
    }


def test_contract_without_tracks_the_splits_name_some_and_others_stay_unknown() -> None:
    rows = [*TOLD.rows, TimedSplit(t_s=400.0, searcher="ines", burial="B", split="first_signal")]
    told = RunSplits(rows=tuple(sorted(rows, key=lambda row: row.t_s)))
    [dig] = digs_of(DRILL.burials, told, {}, {}, EVERYBODY, {})
    assert [(one.searcher, one.end_s) for one in dig.helpers] == [("ines", 400.0), ("bram", 500.0)]
    assert not dig.known
    nobody = splits((100.0, None, "A", "probe_strike"), (500.0, None, "A", "airway_clear"))
    [dig] = digs_of(DRILL.burials, nobody, {}, {}, EVERYBODY, {})
    assert (dig.helpers, dig.known) == ((), False)
    [dig] = digs_of(DRILL.burials, nobody, {}, {}, EVERYBODY, {"A": ["yuki"]})
    assert ([one.searcher for one in dig.helpers], dig.known) == (["yuki"], True)


def test_contract_the_search_for_signals_ends_with_the_first_signal_of_the_last_set() -> None:
    first = splits((60.0, "ines", "A", "first_signal"))
    assert last_first_signal_s(DRILL, first, {}) is None  # nobody heard B
    both = splits((60.0, "ines", "A", "first_signal"), (220.0, "bram", "B", "probe_strike"))
    assert last_first_signal_s(DRILL, both, {}) == 220.0
    turned: Any = SimpleNamespace(burial="B", turn=SimpleNamespace(t_s=150.0))
    assert last_first_signal_s(DRILL, both, {"bram": [turned]}) == 150.0
