"""The list of exercises: every flaw has one, and each names its source."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import coldfield.debrief.findings
from coldfield.coaching.exercises import (
    COMMON_PRACTICE,
    EXERCISES,
    exercise_against,
    exercise_for_phase,
)
from coldfield.debrief.findings.finding import Finding
from coldfield.debrief.findings.yardsticks import MOMENTS, PHASES
from coldfield.files.day_model import SEEN
from coldfield.files.observed import observed
from coldfield.message import message
from coldfield.words import languages, say

SOURCE = Path(coldfield.debrief.findings.__file__).parent
KINDS = sorted(set(re.findall(r'kind="(\w+)"', "".join(p.read_text() for p in SOURCE.glob("*.py")))))
GOOD = {"quick_turn", "straight_line", "swept_all", "standard_met"}


def test_contract_every_kind_of_flaw_has_an_exercise() -> None:
    flaws = set(KINDS) - GOOD - {"observation"}
    assert {"late_turn", "wrong_way", "order"} <= flaws
    lacking = [kind for kind in flaws if exercise_against(Finding(kind=kind, text=message("x"))) is None]
    assert lacking == []


@pytest.mark.parametrize("phase", [*PHASES, *MOMENTS])
def test_contract_every_phase_and_time_has_an_exercise(phase: str) -> None:
    mine = exercise_for_phase(phase)
    assert mine is not None
    missed = Finding(kind="standard_missed", text=message("x"), phase=phase, minutes=1.0)
    assert exercise_against(missed) == mine


@pytest.mark.parametrize("code", SEEN)
def test_contract_what_was_not_seen_has_an_exercise_and_what_was_seen_has_none(code: str) -> None:
    said = {seen: Finding(kind="observation", text=observed(code, seen)) for seen in (True, False)}
    assert exercise_against(said[False]) is not None
    assert exercise_against(said[True]) is None


def test_contract_praise_draws_no_exercise() -> None:
    assert exercise_against(Finding(kind="quick_fine", text=message("x"), phase="fine", praise=True)) is None


def test_contract_ids_and_answers_stand_once() -> None:
    for told in ("kinds", "phases", "observations"):
        answers = [answer for one in EXERCISES for answer in getattr(one, told)]
        assert len(answers) == len(set(answers)), told
    assert len({one.id for one in EXERCISES}) == len(EXERCISES)
    assert {answer for one in EXERCISES for answer in one.kinds} <= set(KINDS)


@pytest.mark.parametrize("tag", languages())
def test_contract_one_sentence_to_practise_and_where_it_comes_from(tag: str) -> None:
    for one in EXERCISES:
        words = say(one.practise, tag)
        assert re.fullmatch(r"[^.]+\.", words), words
        assert one.source == COMMON_PRACTICE or ": " in say(one.source, tag), one.id
