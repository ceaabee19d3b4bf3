from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from coldfield.debrief.tracks.by_person import tracks_by_person
from coldfield.drill.recorded import Recorded
from coldfield.words import say
from made_walks import drill
from recorded_tracks import straight, walk

SEARCHERS = drill().searchers  # s1 is Ines, s2 is Bram


def whose(*recorded: Recorded) -> tuple[dict[str, list[str]], Sequence[str]]:
    people, faults = tracks_by_person(recorded, SEARCHERS)
    return {who: [f"{one.file}/{one.name}" for one in tracks] for who, tracks in people.items()}, [
        say(fault) for fault in faults
    ]


def track(file: str, name: str = "", late_s: float = 0.0) -> Recorded:
    t, way = straight(20)
    return walk(t + late_s, way, file=file, name=name)


@pytest.mark.parametrize("file", ["s1.gpx", "INES.fit", "folder/ines.gpx", "C:\\tracks\\Ines.GPX", "s1"])
def test_contract_the_files_name_tells_the_person_in_any_case(file: str) -> None:
    assert whose(track(file))[0].keys() == {"s1"}


def test_contract_the_tracks_name_tells_where_the_files_does_not() -> None:
    people, faults = whose(
        track("run.gpx", "Bram"), track("run.gpx", "ines"), track("run.gpx", "walk to the hut")
    )
    assert people == {"s1": ["run.gpx/ines"], "s2": ["run.gpx/Bram"]}
    assert len(faults) == 1
    assert "walk to the hut" in faults[0]


def test_contract_the_file_comes_first_unless_every_track_names_somebody_else() -> None:
    assert whose(track("ines.gpx", "Bram"))[0] == {"s1": ["ines.gpx/Bram"]}
    both, _ = whose(track("ines.gpx", "Bram"), track("ines.gpx", "Ines"))
    assert both == {"s1": ["ines.gpx/Ines"], "s2": ["ines.gpx/Bram"]}


def test_contract_a_second_recording_of_the_same_minutes_is_left_out_and_said() -> None:
    people, faults = whose(track("ines.gpx"), track("ines.fit"), track("s1.csv", late_s=600.0))
    assert people == {"s1": ["ines.gpx/", "s1.csv/"]}
    assert len(faults) == 1
    assert "ines.fit" in faults[0]
    assert "ines.gpx is used" in faults[0]


def test_contract_nobodys_file_is_one_line_that_says_who_there_is() -> None:
    people, faults = whose(track("holiday.gpx", "beach"), track("holiday.gpx", "hut"))
    assert people == {}
    assert len(faults) == 1
    assert "s1 (Ines)" in faults[0]


def test_contract_times_that_are_missing_do_not_hide_a_track() -> None:
    t, way = straight(5)
    one = walk(np.full(t.size, np.nan), way, file="s1.gpx")
    assert whose(one)[0] == {"s1": ["s1.gpx/"]}
