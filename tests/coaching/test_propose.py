"""Proposals: practical, as wished, different, and still valid when played with other random numbers."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest
from click.testing import CliRunner
from judging import again, check_can_be_laid_out, proposed
from ten_sites import CASES

from amount import amount
from coldfield.app.coaching.proposing import Wanted, propose_drills
from coldfield.cli.main import group as commands
from coldfield.coaching.candidates import candidates, difference
from coldfield.errors import BadInput, ColdfieldError, Refused
from coldfield.files.drill_json import read_drill, write_drill

BY_NAME = {case.name: case for case in CASES}
PLAYED = ("a hut in it", "small", "three burials")[: amount(2, desk=3)]


@cache
def _proposed(name: str):
    return proposed(BY_NAME[name])


@pytest.mark.parametrize("name", PLAYED)
def test_independent_route_the_wish_holds_with_a_seed_the_search_never_had(name: str) -> None:
    # Some of the ten sites of bench/propose_sites.py, whose results are in docs/coaching.md.
    answer, case = _proposed(name), BY_NAME[name]
    low, high = (60.0 * minute for minute in case.p90_min)
    for one, told in zip(answer.proposals, again(answer), strict=True):
        assert low - 2 * told.p90_doubt_s <= told.p90_s <= high + 2 * told.p90_doubt_s
        assert told.found_fraction >= 0.95 - 0.01
        doubt = (told.p90_doubt_s**2 + one.predicted.p90_doubt_s**2) ** 0.5
        assert abs(told.p90_s - one.predicted.p90_s) < 4 * doubt


@pytest.mark.parametrize("name", PLAYED)
def test_contract_three_different_drills_of_at_least_300_candidates_after_fresh_runs(name: str) -> None:
    answer = _proposed(name)
    assert answer.candidates >= 300
    assert len(answer.proposals) == 3
    drills = [read_drill(json.dumps(one.drill)) for one in answer.proposals]
    assert all(difference(a, b) > 0.1 for a, b in combinations(drills, 2))
    for one in answer.proposals:
        assert one.predicted.runs >= 2000
        assert one.predicted.p10_s < one.predicted.p50_s < one.predicted.p90_s
        assert one.why
        assert one.trains


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_property_every_candidate_can_be_laid_out_and_is_as_wished(case) -> None:
    found = candidates(case.drill, case.wish, count=60, seed=9)
    assert len(found) == 60
    for one in found:
        check_can_be_laid_out(case, json.loads(write_drill(one)))


def test_property_candidates_fill_the_ground_and_the_depths() -> None:
    case = BY_NAME["a square"]
    found = candidates(case.drill, (), count=256, seed=1)
    places = [b.position_m for one in found for b in one.burials]
    cells = {(int(east // 20), int(north // 20)) for east, north in places}
    assert len(cells) == 9
    assert {b.depth_m for one in found for b in one.burials} == {round(0.3 + 0.1 * k, 1) for k in range(13)}


def test_contract_the_same_seed_gives_the_same_drills_and_another_others() -> None:
    case = BY_NAME["small"]
    first = [one.burials for one in candidates(case.drill, case.wish, count=40, seed=5)]
    assert first == [one.burials for one in candidates(case.drill, case.wish, count=40, seed=5)]
    assert first != [one.burials for one in candidates(case.drill, case.wish, count=40, seed=6)]


def test_contract_it_can_be_cancelled_and_tells_how_far_it_is() -> None:
    case, told = BY_NAME["small"], []
    with pytest.raises(Refused, match="cancelled"):
        propose_drills(
            case.drill,
            Wanted(p90_min=case.p90_min),
            progress=lambda done, total: told.append((done, total)),
            cancelled=lambda: len(told) >= 5,
        )
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert len(told) < 50


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"p90_min": (11.0, 7.0)}, "--p90-min"),
        ({"p90_min": (0.0, 7.0)}, "--p90-min"),
        ({"p90_min": None}, "--p90-min"),
        ({"found_min": 1.5}, "--found-min"),
        ({"wish": ("sideways",)}, "--wish"),
        ({"ladder": 1}, "--ladder"),
    ],
)
def test_contract_what_cannot_be_is_refused_with_its_place(changes: dict, place: str) -> None:
    with pytest.raises(BadInput) as raised:
        propose_drills(BY_NAME["small"].drill, replace(Wanted(p90_min=(7.0, 11.0)), **changes))
    assert place in str(raised.value)


@pytest.mark.parametrize("wish", ["close-pair", "overlap"])
def test_contract_a_pair_needs_two_burials(wish) -> None:
    with pytest.raises(BadInput, match="two burials"):
        propose_drills(BY_NAME["small"].drill, Wanted(p90_min=(5.0, 9.0), wish=(wish,)))


def test_contract_a_wish_that_no_drill_fulfils_says_how_near_it_comes() -> None:
    case = BY_NAME["small"]
    with pytest.raises(ColdfieldError, match=r"no drill was found between 1 and 1\.5 min"):
        propose_drills(case.drill, Wanted(p90_min=(1.0, 1.5)))


def test_contract_the_command_prints_whole_drill_files(tmp_path) -> None:
    case = BY_NAME["small"]
    path = tmp_path / "drill.json"
    path.write_text(write_drill(case.drill))
    told = CliRunner().invoke(
        commands,
        ["propose", str(path), "--p90-min", "14,22", "--wish", "deep", "--seed", "4", "--json"],
        catch_exceptions=False,
    )
    assert told.exit_code == 0
    answer = json.loads(told.stdout)
    assert {"proposals", "candidates", "seconds"} <= set(answer)
    for one in answer["proposals"]:
        assert {"drill", "predicted", "why", "trains"} <= set(one)
        assert {"p10_s", "p50_s", "p90_s"} <= set(one["predicted"])
        assert 840 <= one["predicted"]["p90_s"] <= 1320
        assert read_drill(json.dumps(one["drill"])).searchers == case.drill.searchers
        assert all(isinstance(text, str) for text in one["why"] + one["trains"])
