from __future__ import annotations

import numpy as np
import pytest

from coldfield.app.answers import said
from coldfield.app.debriefs.from_files import RunFiles, debrief
from coldfield.debrief.findings.order_found import usual_order
from coldfield.drill import Split, Splits
from made_walks import burial, drill, recorded_by
from recorded_tracks import NOON


def document(second: tuple[float, float], *, names: str = "AB") -> dict:
    """One person walks a lane north, goes straight to A at (22, 60), then to the second burial."""
    planned = drill(burial("A", (22.0, 60.0), azimuth_deg=0.0), burial("B", second, azimuth_deg=0.0))
    places = {"A": (22.0, 60.0), "B": second}
    t, way = [0.0, 30.0], [(40.0, -10.0), (40.0, 26.0)]
    rows = [Split(split="alarm", time_unix_s=NOON)]
    for name in names:
        place = places[name]
        t.append(t[-1] + float(np.hypot(*np.subtract(place, way[-1]))) / 1.1)
        way.append(place)
        for kind, after in (("lowest_reading", 25), ("probe_strike", 50)):
            moment = NOON + round(t[-1]) + after
            rows.append(Split(split=kind, searcher="s1", burial=name, time_unix_s=moment))
        t.append(t[-1] + 60.0)
        way.append(place)
    track = recorded_by(np.array(t), np.array(way), seed=2, white_m=0.3, bias_m=0.5)
    run = RunFiles(drill=planned, recorded=(track,), splits=Splits(rows=tuple(rows)))
    return said(debrief(run).document)


def test_contract_a_nearer_set_that_was_heard_and_passed_over_is_said_with_both_distances() -> None:
    made = document((38.0, 34.0))
    (one,) = [f for f in made["findings"] if f["kind"] == "order"]
    assert (one["searcher"], one["burial"]) == ("s1", "A")
    assert one["numbers"]["near_m"] < 15.0 < 30.0 < one["numbers"]["far_m"]
    assert one["minutes"] == pytest.approx((one["numbers"]["far_m"] - one["numbers"]["near_m"]) / 60.0)
    found = made["order"]["found"]
    assert [(f["burial"], f["searcher"], f["sure"]) for f in found] == [("A", "s1", True), ("B", "s1", True)]
    assert made["order"]["rehearsed"] is None


def test_contract_the_nearest_first_or_two_that_are_as_near_draw_no_word() -> None:
    for second, names in (((38.0, 34.0), "BA"), ((55.0, 58.0), "AB")):
        assert "order" not in [f["kind"] for f in document(second, names=names)["findings"]]


def test_contract_the_usual_order_is_the_most_frequent_of_runs_that_found_all() -> None:
    struck = np.array([[100.0, 200.0], [300.0, 200.0], [50.0, 60.0], [np.nan, 10.0]])
    usual = usual_order(struck, ["A", "B"])
    assert usual is not None
    assert (usual.burials, usual.share, usual.runs) == (("A", "B"), pytest.approx(2 / 3), 3)
    assert usual_order(struck[:, :1], ["A"]) is None
