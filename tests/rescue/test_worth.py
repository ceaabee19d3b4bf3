from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_drills import burial, drill, searcher, straight_lanes

from coldfield.message import message
from coldfield.rescue.rehearsal import Scene, rehearse
from coldfield.rescue.settings import SETTINGS
from coldfield.rescue.worth import NARROWER_STRIPS, WIDER_STRIPS, Worth, changes, sorted_worth, worth_of

PAIR = drill(
    [burial("A", (12.0, 20.0)), burial("B", (30.0, 33.0))], [searcher(), searcher("s2", shovel=False)]
)


def played(made, settings=SETTINGS, *, seed: int = 3):  # type: ignore[no-untyped-def]
    return rehearse(
        Scene(drill=made, lanes=straight_lanes(made), seed=seed, settings=settings), first_run=0, last_run=400
    )


def test_property_no_change_is_worth_exactly_nothing() -> None:
    worth = worth_of(message("change.none"), played(PAIR), played(PAIR), horizon_s=3600.0)
    assert (worth.gain_survivors, worth.standard_error, worth.gain_minutes) == (0.0, 0.0, 0.0)


def test_property_faster_digging_and_one_more_shovel_help() -> None:
    before = played(PAIR)
    gains = {}
    for change in changes(PAIR, SETTINGS):
        if not change.replan:
            gains[change.name.code] = worth_of(
                change.name, before, played(change.drill, change.settings), horizon_s=3600.0
            )
    for name in (
        "change.digging_faster",
        "change.one_more_shovel",
        "change.fine_faster",
        "change.signal_faster",
    ):
        assert gains[name].gain_minutes > 0.0
        assert gains[name].gain_survivors > 0.0
    order = sorted_worth(list(gains.values()))
    assert [w.gain_survivors for w in order] == sorted((w.gain_survivors for w in order), reverse=True)


def test_property_common_draws_narrow_the_error() -> None:
    # The same change with different draws before and after: the error of the difference must be larger.
    change = next(c for c in changes(PAIR, SETTINGS) if c.name.code == "change.digging_faster")
    before, after = played(PAIR), played(change.drill)
    paired = worth_of(message("change.none"), before, after, horizon_s=3600.0).standard_error
    other = played(change.drill, seed=4)
    mixed = worth_of(message("change.none"), before, replace(other, seed=3), horizon_s=3600.0).standard_error
    assert paired < 0.8 * mixed


def test_property_a_change_counts_only_beyond_its_error_and_with_one_sign() -> None:
    before = played(PAIR)
    quick = next(c for c in changes(PAIR, SETTINGS) if c.name.code == "change.digging_faster")
    after = played(quick.drill)
    sure = worth_of(
        message("change.none"), before, after, horizon_s=3600.0, drawn=(before, after), block_runs=10
    )
    assert sure.counts
    assert sure.helps_share == 1.0
    assert not worth_of(message("change.none"), before, before, horizon_s=3600.0).counts
    # Half of the draws reversed: the sign is unclear, so nothing is stated.
    half = np.where((np.arange(400) // 10 % 2 == 0)[:, None, None], before.moments_s, after.moments_s)
    rest = np.where((np.arange(400) // 10 % 2 == 0)[:, None, None], after.moments_s, before.moments_s)
    drawn = (replace(before, moments_s=half), replace(after, moments_s=rest))
    flips = worth_of(message("change.none"), before, after, horizon_s=3600.0, drawn=drawn, block_runs=10)
    assert flips.helps_share == pytest.approx(0.5)
    assert not flips.counts


def test_property_wider_and_narrower_strips_never_both_help() -> None:
    both = [
        Worth(
            change=name,
            gain_survivors=0.01,
            standard_error=0.001,
            gain_minutes=gain,
            minutes_standard_error=0.01,
            helps_share=None,
            counts=True,
        )
        for name, gain in ((WIDER_STRIPS, 0.3), (NARROWER_STRIPS, 0.2))
    ]
    told = {w.change.code: w.counts for w in sorted_worth(both)}
    assert told == {WIDER_STRIPS.code: True, NARROWER_STRIPS.code: False}


def test_contract_other_runs_or_seeds_are_refused() -> None:
    with pytest.raises(ValueError, match="same seed"):
        worth_of(message("change.none"), played(PAIR), played(PAIR, seed=4), horizon_s=3600.0)


def test_contract_changes_fit_the_drill() -> None:
    names = {c.name.code for c in changes(PAIR, SETTINGS)}
    assert "change.one_more_shovel" in names
    equipped = replace(
        PAIR, searchers=tuple(replace(s, shovel=True, probe_length_m=3.2) for s in PAIR.searchers)
    )
    less = {c.name.code for c in changes(equipped, SETTINGS)}
    assert "change.one_more_shovel" not in less
    assert not any("probe" in name and "longer" in name for name in less)
    alone = replace(equipped, searchers=equipped.searchers[:1])
    assert not any("finder" in c.name.code for c in changes(alone, SETTINGS))
