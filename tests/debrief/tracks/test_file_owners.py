"""Whose each dropped file is: names decide, then elimination; entered owners stay."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.debrief.tracks.file_owners import Dropped, FileOwner, at_once, guess_owners
from coldfield.drill.recorded import Recorded

PARTY = {"s1": ["Ines"], "s2": ["Bram"], "s3": ["Yuki"]}


def recorded(name: str, start_s: float = 0.0, seconds: float = 60.0) -> Recorded:
    times = np.array([start_s, start_s + seconds])
    return Recorded(
        file="x.gpx", name=name, unix_s=times, place=np.zeros((2, 2)), segment=np.zeros(2, dtype=np.int64)
    )


def test_contract_names_decide_before_who_is_left_whatever_the_order() -> None:
    files = [
        Dropped.of("activity_4711.gpx", [recorded("Run")]),
        Dropped.of("INES.gpx", [recorded("Run")]),
        Dropped.of("watch.gpx", [recorded("bram")]),
    ]
    assert guess_owners(files, PARTY) == [
        FileOwner(searcher="s3", matched="left over"),
        FileOwner(searcher="s1", matched="file name"),
        FileOwner(searcher="s2", matched="track name"),
    ]


def test_contract_a_file_of_two_people_is_split_by_its_tracks_or_left_alone() -> None:
    named = Dropped.of("both.gpx", [recorded("Ines"), recorded("Bram", 10.0)])
    nameless = Dropped.of("two.gpx", [recorded("a"), recorded("b", 10.0)])
    in_turn = Dropped.of("pauses.gpx", [recorded("a"), recorded("b", 100.0)])
    assert guess_owners([named, nameless, in_turn], PARTY) == [
        FileOwner(parts=("s1", "s2"), matched="track name"),
        FileOwner(),
        FileOwner(searcher="s3", matched="left over"),
    ]


def test_contract_what_was_told_stays_and_takes_its_person() -> None:
    told = FileOwner(searcher="s1", matched="told")
    files = [
        Dropped.of("a.gpx", [recorded("")]),
        Dropped(file="b.gpx", known=told),
        Dropped(file="broken.gpx"),
    ]
    assert guess_owners(files, PARTY) == [FileOwner(searcher="s2", matched="left over"), told, FileOwner()]


def test_contract_tracks_that_follow_each_other_are_not_at_once() -> None:
    assert at_once([recorded("", 0.0), recorded("", 30.0)])
    assert not at_once([recorded("", 60.0), recorded("", 0.0)])


@examples(50)
@given(st.lists(st.sampled_from(["ines.gpx", "bram.fit", "x.gpx", "y.csv", "z.gpx"]), max_size=6))
def test_property_nobody_is_left_over_twice_and_nobody_named_is_left_over(names: list[str]) -> None:
    found = guess_owners([Dropped.of(name, [recorded("")]) for name in names], PARTY)
    left = [one.searcher for one in found if one.matched == "left over"]
    named = {one.searcher for one in found if one.matched == "file name"}
    assert len(left) == len(set(left))
    assert not named & set(left)
    assert all(one.matched or not one.searcher for one in found)
