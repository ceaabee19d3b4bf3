"""Debrief documents as JSON: missing values are filled in, faults are reported with their place."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from coldfield.debrief.document import DebriefDocument
from coldfield.debrief.findings.finding import Finding
from coldfield.errors import BadInput
from coldfield.files.debrief_json import debrief_value, read_debrief
from coldfield.message import VERBATIM, duration, message
from coldfield.words import say
from invented_run import invented_run

LEAST: dict[str, Any] = {
    "format": "coldfield-debrief/1",
    "run": {},
    "site": {"boundary_m": [[0, 0], [10, 0], [10, 10]]},
}


def test_contract_what_a_debrief_may_lack_is_filled_in() -> None:
    document = read_debrief(LEAST)
    assert (document.searchers, document.run.alarm_utc, document.run.end_s) == ((), None, 0.0)
    assert (document.run.notes, document.swept, document.run.splits_clock_checked) == ((), None, True)
    assert read_debrief({}) == DebriefDocument()


def test_contract_null_stands_for_a_part_that_is_missing() -> None:
    nulls = dict.fromkeys(debrief_value(DebriefDocument()))
    assert read_debrief({**nulls, "format": "coldfield-debrief/1"}) == DebriefDocument()


def test_property_a_document_that_was_read_is_written_as_it_was() -> None:
    document = read_debrief(invented_run())
    assert read_debrief(debrief_value(document)) == document


def test_contract_unknown_keys_are_left_out() -> None:
    later = {"site": LEAST["site"] | {"colour": "white"}, "weather": {"wind": 3}}
    assert read_debrief(LEAST | later) == read_debrief(LEAST)


@pytest.mark.parametrize(
    ("wrong", "faults"),
    [
        (
            {
                "title": 7,
                "burials": [{"id": "A", "position_m": [1]}],
                "searchers": [{"id": "s1", "track": {"pieces": [{"t_s": [0, "x"], "position_m": [[0, 0]]}]}}],
            },
            [
                "title: must be text in quotes",
                "burials[0].position_m[1]: is missing",
                "searchers[0].track.pieces[0].t_s[1]: must be a number",
            ],
        ),
        ({"format": "coldfield-debrief/2"}, ["format: must be 'coldfield-debrief/1'"]),
        (
            {"searchers": [{"id": "s1", "track": {"pieces": [{"t_s": [0, 1], "position_m": [[0, 0]]}]}}]},
            ["searchers[0].track.pieces[0]: must have as many times as positions"],
        ),
        (
            {"searchers": [{"id": "s1", "readings": [{"burial": "A", "t_s": [0], "reading_m": []}]}]},
            ["searchers[0].readings[0]: must have as many times as readings"],
        ),
        (
            {"burials": [{"id": "A", "position_m": [1, 1]}, {"id": "A", "position_m": [2, 2]}]},
            ["burials[1].id: 'A' is used twice; give each its own"],
        ),
        ({"site": {"boundary_m": [[0, 0]]}}, ["site.boundary_m: must have at least 3 entries"]),
        ({"simulated": "yes", "run": []}, ["simulated: must be true or false", "run: must be an object {...}"]),
        (
            {"run": {"end_s": 1e13}, "gaps": [{"position_m": "here"}]},
            ["run.end_s: must be at least −1,000,000,000,000 and at most 1,000,000,000,000", "gaps[0].position_m: must be a list [...]"],
        ),
        ({"swept": {"cell_m": 1, "origin_m": [0, 0], "columns": 1.5, "rows": 1, "runs": []}},
         ["swept.columns: must be a whole number"]),
    ],
)  # fmt: skip
def test_contract_every_fault_is_told_with_its_place(wrong: dict[str, Any], faults: list[str]) -> None:
    with pytest.raises(BadInput) as caught:
        read_debrief(LEAST | wrong)
    assert list(caught.value.texts()) == faults


EARLIER = Path(__file__).parents[1] / "data" / "debrief_with_sentences.json"
"""Made by an earlier Coldfield, which kept sentences instead of codes and values."""


def test_contract_a_debrief_with_sentences_still_opens_and_says_them_as_they_stand() -> None:
    raw = json.loads(EARLIER.read_text(encoding="utf-8"))
    document = read_debrief(raw)
    assert [say(one.text, "en") for one in document.findings] == [one["text"] for one in raw["findings"]]
    missed = next(one for one in document.findings if one.kind == "standard_missed")
    assert missed.text.code == VERBATIM
    assert say(missed.text, "de") == say(missed.text, "en")
    assert [say(one) for one in document.cautions] == raw["cautions"]
    assert {one.confidence.code for one in document.findings} <= {
        "confidence.clear",
        "confidence.as_seen",
        "confidence.by_splits",
    }


def test_contract_its_observations_are_known_by_their_codes_and_own_words_stay() -> None:
    document = read_debrief(json.loads(EARLIER.read_text(encoding="utf-8")))
    seen = [one.text for one in document.findings if one.kind == "observation"]
    assert [say(one, "de") for one in seen] == [
        "Leitung bestimmt",
        "Telefone weggelegt (nicht gesehen): two of them",
        "dug from below",
    ]
    assert [one.said for one in document.splits if one.split == "observation"] == seen


def test_contract_names_and_ids_are_said_untouched_in_every_language() -> None:
    # A burial named like a number and a person named like a confidence are neither counted nor translated.
    said = message("finding.late_turn", name="likely", burial="2.1", time=duration(83.2))
    finding = Finding(kind="late_turn", text=said)
    kept = read_debrief(debrief_value(DebriefDocument(findings=(finding,)))).findings[0].text
    assert kept == said
    assert say(kept, "en").startswith("likely could hear 2.1 for 1 min 23 s ")
    assert say(kept, "de").startswith("likely konnte 2.1 1 min 23 s lang hören")
