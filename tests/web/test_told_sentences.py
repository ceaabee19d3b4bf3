"""The list of sentences that the front end translates is the one the service can say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import radians, tan
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient

from coldfield.app.debriefs.from_files import RunFiles, debrief
from coldfield.drill import Split, Splits
from coldfield.drill.grid import Grid
from coldfield.drill.ground_screen import screened
from coldfield.drill.site import Origin, Site
from coldfield.words import catalogue
from made_walks import drill, lane_then_flux_line, recorded_by, splits_of
from told_sentences import collected, written

SITE = Site(
    origin=Origin(latitude_rad=1.0, longitude_rad=0.1, elevation_m=1200.0),
    boundary_m=((-30.0, -30.0), (30.0, -30.0), (30.0, 30.0), (-30.0, 30.0)),
    entry_m=(0.0, -30.0),
)


def test_contract_the_list_that_is_translated_is_what_the_source_says() -> None:
    # After a change of a sentence: python tests/told_sentences.py, then its German in words/told.
    assert written() == collected()


def test_independent_route_what_a_debrief_says_stands_in_the_list() -> None:
    planned = drill()
    truth = lane_then_flux_line(planned)
    assert truth is not None
    kept = splits_of(truth, late_s=420.0)
    seen = Split(split="observation", searcher=None, burial=None, note="leader named", since_alarm_s=10.0)
    track = recorded_by(truth.t_s, truth.position_m, seed=4)
    made = debrief(RunFiles(drill=planned, recorded=(track,), splits=kept)).document
    plain = debrief(RunFiles(drill=planned, recorded=(track,), splits=Splits(rows=(seen,)))).document
    assert_listed(sentences_of(made))
    assert_listed(sentences_of(plain))


def test_independent_route_what_the_screen_of_a_site_says_stands_in_the_list() -> None:
    steep = screened(
        SITE, ground(lambda _east, north: np.clip(north - 60.0, 0, None) * tan(radians(35)), 300.0)
    )
    coarse = screened(SITE, ground(lambda east, _north: 0.7 * east, 1200.0, cell_m=60.0))
    assert len({*steep.reasons, *coarse.reasons}) > 3
    assert_listed([*steep.reasons, *coarse.reasons])


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("people/x", {"name": 7, "age": 3}),
        ("people/x", {"name": "", "notes": "a" * 10_001}),
        ("kit/x", {"kind": "rope", "label": "A", "figures": {"period_s": 9, "pulse_s": "long"}}),
        ("runs/x", {"drill_id": "none", "name": "A", "held_utc": "yesterday", "searchers": {}}),
        ("drills/x", {"name": "A", "document": {"format": "none"}}),
        ("days/x", {"course_id": "none", "date": "2026-02-30"}),
    ],
)
def test_independent_route_faults_of_forms_stand_in_the_list(
    client: TestClient, path: str, body: dict[str, Any]
) -> None:
    faults = client.put(f"/api/{path}", json=body).json()["faults"]
    assert faults
    assert_listed(faults)


def assert_listed(said: list[str]) -> None:
    listed = [re.compile(text, re.DOTALL) for text in (*map(shape, written()), *catalogued())]
    assert said
    unknown = [
        one for one in said if not any(known.fullmatch(rest) for rest in behind(one) for known in listed)
    ]
    assert unknown == []


def catalogued() -> Iterator[str]:
    """The words of every message, with any value for a value."""
    for entry in catalogue("en").values():
        for text in [entry] if isinstance(entry, str) else entry.values():
            yield re.sub(r"\\{\w+\\}", ".+?", re.escape(text))


def behind(sentence: str) -> Iterator[str]:
    """The sentence, and what stands behind each place in front of it."""
    yield sentence
    while ": " in sentence:
        sentence = sentence.partition(": ")[2]
        yield sentence


def shape(example: str) -> str:
    """A sentence with its examples taken out: any name for a name, any number for a number."""
    example = re.sub(r"\b(north|south)[a-z-]*(, [a-z-]+)*", "Qaro", example)
    quoted = re.sub(r"'[^']+'", "'Qaro'", example)
    return re.sub(r"Q[a-z]{3}\b", ".+?", re.sub(r"(\\\+)?\d+(\\\.\d+)?", r"[-+]?[\\d.:]+", re.escape(quoted)))


def sentences_of(document: dict[str, Any]) -> list[str]:
    tracks = [one["track"] for one in document["searchers"] if one["track"]]
    findings = [one for one in document["findings"] if one["kind"] != "observation"]
    return [
        *document["run"]["notes"],
        *(note for track in tracks for note in track["notes"]),
        *(one["text"] for one in findings),
        *document["cautions"],
    ]


def ground(height: Any, half_m: float, cell_m: float = 10.0) -> Grid:
    line = np.arange(-half_m, half_m + cell_m / 2, cell_m)
    east, north = np.meshgrid(line, line)
    return Grid.over(line, line, 1000.0 + height(east, north))
