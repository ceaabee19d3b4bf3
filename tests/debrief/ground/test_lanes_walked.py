from __future__ import annotations

import numpy as np
import pytest

from coldfield.app.debriefs.from_files import RunFiles, debrief
from coldfield.debrief.ground.lanes_walked import lanes_walked
from coldfield.drill import Splits
from coldfield.drill.terrain import Plane
from made_walks import drill, recorded_by


def test_independent_route_a_walk_beside_a_lane_is_as_far_off_as_it_was_put() -> None:
    planned = drill()
    walk = recorded_by(
        np.array([0.0, 50.0]), np.array([[3.0, 5.0], [3.0, 65.0]]), seed=1, white_m=0.0, bias_m=0.0
    )
    made = debrief(RunFiles(drill=planned, recorded=(walk,), splits=Splits())).debriefing
    lane = np.array([[5.0, 0.0], [5.0, 80.0]])
    (told,) = lanes_walked([("s1", lane), ("s2", lane)], made.walks, made.phases, Plane())
    assert told.planned_m == pytest.approx(80.0)
    assert told.walked_m == pytest.approx(60.0, abs=1.0)
    assert told.off_lane_m == pytest.approx(2.0, abs=0.1)
