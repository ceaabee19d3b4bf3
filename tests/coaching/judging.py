"""Judge proposals with a seed that the search never used, and by their drill files."""

from __future__ import annotations

import json
from itertools import combinations
from math import dist

import shapely
from ten_sites import Case

from coldfield.app.coaching.proposing import Wanted, propose_drills
from coldfield.app.rehearsals.rehearse import both_passes
from coldfield.coaching.propose import proposal_of
from coldfield.files.drill_json import read_drill
from coldfield.rescue.rehearsal import Scene
from coldfield.rescue.unsure import rehearse_unsure

THIRD_SEED, RUNS = 733, 2000


def proposed(case: Case, *, seed: int = 2):
    return propose_drills(case.drill, Wanted(p90_min=case.p90_min, wish=case.wish, seed=seed))


def again(answer, *, seed: int = THIRD_SEED):
    """Rehearse each proposal's drill file with other random numbers and constants drawn for each run."""
    told = []
    for one in answer.proposals:
        drill = read_drill(json.dumps(one.drill))
        lanes, second = both_passes(drill, None)
        scene = Scene(drill=drill, lanes=lanes, second=second, seed=seed)
        told.append(proposal_of(drill, rehearse_unsure(scene, first_run=0, last_run=RUNS)))
    return told


def ground_of(drill):
    ground = shapely.Polygon(drill.site.boundary_m)
    for hole in drill.site.holes_m:
        ground = ground.difference(shapely.Polygon(hole))
    return ground


def check_can_be_laid_out(case: Case, document: dict) -> None:
    """Check the burials: inside the ground, apart, on whole metres, in steps of 10 cm, within reach of a probe; as wished."""
    drill = read_drill(json.dumps(document))
    inner = ground_of(case.drill).buffer(-0.4)
    for one in drill.burials:
        assert inner.contains(shapely.Point(one.position_m)), case.name
        assert all(c == round(c) for c in one.position_m), case.name
        assert round(one.depth_m, 1) == one.depth_m, case.name
        assert 0.3 <= one.depth_m <= 2.0, case.name
    away = [dist(a.position_m, b.position_m) for a, b in combinations(drill.burials, 2)]
    assert all(d >= 3.0 for d in away), case.name
    if "close-pair" in case.wish:
        assert min(away) <= 15.0, case.name
    if "deep" in case.wish:
        assert max(b.depth_m for b in drill.burials) >= 1.0, case.name
    if "upright" in case.wish:
        assert any(b.antenna.tilt_rad > 1.3 for b in drill.burials), case.name
    if "overlap" in case.wish:
        assert any(
            abs(a.transmitter.period_s - b.transmitter.period_s) <= 0.011
            and dist(a.position_m, b.position_m) <= 20.0
            for a, b in combinations(drill.burials, 2)
        ), case.name
    assert len(drill.burials) == len(case.drill.burials)
    assert [s.id for s in drill.searchers] == [s.id for s in case.drill.searchers]
    assert drill.site == case.drill.site
