"""`coldfield learn` over records, and a rehearsal with what it learned."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from made_course import made_course
from on_record import COURSE, NAMES, keep_course

from coldfield.app.coaching.group_runs import group_runs
from coldfield.cli.main import group as commands
from coldfield.coaching.timed import intervals
from coldfield.files.drill_json import write_drill
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder

KEYS = ("name", "person", "middle", "low", "high", "prior_middle", "runs")


def _run(*arguments: str) -> str:
    told = CliRunner().invoke(commands, list(arguments), catch_exceptions=False)
    assert told.exit_code == 0, told.output
    return told.stdout


@pytest.fixture(scope="module")
def kept(tmp_path_factory) -> tuple[Path, object]:
    place = tmp_path_factory.mktemp("records")
    course = made_course(4, family=7, other_digging=False, runs=6)
    database = open_sqlite(Folder(place))
    keep_course(database, course)
    database.close()
    return place, course


def test_contract_learn_prints_each_constant_of_the_group_and_of_each_person(kept) -> None:
    place, _ = kept
    told = json.loads(_run("learn", "--data", str(place), "--json"))
    assert told["runs"] == 6
    for one in told["constants"]:
        assert set(KEYS) <= set(one)
        assert one["low"] < one["middle"] < one["high"]
    group = {one["name"]: one for one in told["constants"] if one["person"] is None}
    people = {one["person"] for one in told["constants"]} - {None}
    assert people == set(NAMES)
    assert group["dig_rate_kg_s"]["learned"]
    assert group["dig_rate_kg_s"]["runs"] == 6
    assert "dig_rate_kg_s" not in {one["name"] for one in told["constants"] if one["person"]}
    for one in told["constants"]:
        if not one["learned"]:
            assert one["middle"] == one["prior_middle"]
        else:
            assert one["runs"] >= 1


def test_contract_a_course_is_told_by_name_or_id_and_another_is_refused(kept) -> None:
    place, _ = kept
    whole = json.loads(_run("learn", "--data", str(place), "--json"))
    for course in ("february course", COURSE):
        told = json.loads(_run("learn", "--data", str(place), "--course", course, "--json"))
        assert told["constants"] == whole["constants"]
    wrong = CliRunner().invoke(commands, ["learn", "--data", str(place), "--course", "March"])
    assert wrong.exit_code == 1
    assert "February course" in wrong.stderr


def test_contract_in_words_it_says_what_is_not_learned_yet(kept) -> None:
    place, _ = kept
    told = _run("learn", "--data", str(place))
    assert "Your group" in told
    assert "Not learned yet" in told
    assert "after 6 runs" in told


def test_contract_moments_come_out_of_records_as_they_were_timed(kept) -> None:
    place, course = kept
    database = open_sqlite(Folder(place))
    group = group_runs(database)
    database.close()
    assert [run.name for run in group.runs] == [f"Run {k + 1}" for k in range(6)]
    for told, made in zip(group.runs, course.runs, strict=True):
        for one, other in zip(intervals(told), intervals(made), strict=True):
            assert (one.burial, one.begin, one.end, one.searcher) == (
                other.burial,
                other.begin,
                other.end,
                other.searcher,
            )
            assert one.seconds == pytest.approx(other.seconds, abs=0.01)


def test_contract_a_rehearsal_says_whose_figures_it_is_made_with(kept, tmp_path) -> None:
    place, course = kept
    drill = tmp_path / "drill.json"
    drill.write_text(write_drill(course.runs[0].drill))
    told = json.loads(_run("rehearse", str(drill), "--runs", "80", "--own", "--data", str(place), "--json"))
    assert "own figures from 6 runs" in told["own"]
    assert "own" not in json.loads(_run("rehearse", str(drill), "--runs", "80", "--json"))


def test_contract_without_runs_it_is_too_little_to_tell(tmp_path) -> None:
    open_sqlite(Folder(tmp_path)).close()
    told = json.loads(_run("learn", "--data", str(tmp_path), "--json"))
    assert not told["told_enough"]
    assert "Too little to tell" in told["headlines"][0]
    assert all(one["middle"] == one["prior_middle"] for one in told["constants"])
