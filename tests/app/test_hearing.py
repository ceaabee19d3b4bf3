import json
from math import radians
from pathlib import Path

import numpy as np
import pytest

import coldfield.app
from coldfield.app.answers import plain
from coldfield.app.drills.files import load_drill
from coldfield.app.hearing.at_place import signal_at, signal_words
from coldfield.beacon.field import antenna_axis, harmonic_dipole_field, moment_am2
from coldfield.cli.lines import in_lines
from coldfield.errors import BadInput, OutOfModel, UnknownRecord
from coldfield.words import say

DEMO = Path(coldfield.app.__file__).parent / "demo/drill.json"
FLAT = {
    "format": "coldfield-drill/1",
    "name": "Two on the flat",
    "site": {
        "origin": {"latitude_deg": 61.2, "longitude_deg": 8.1, "elevation_m": 1180},
        "boundary_m": [[0, 0], [60, 0], [60, 80], [0, 80]],
        "entry_m": [30, 0],
    },
    "burials": [
        {"id": "A", "position_m": [22, 41], "depth_m": 0.8, "antenna": {"azimuth_deg": 40, "tilt_deg": 10}, "transmitter": {}},
        {"id": "B", "position_m": [50, 60], "depth_m": 1.0, "transmitter": None},
    ],
    "searchers": [{"id": "s1", "name": "Pia", "receiver": {"coaxial_range_m": 45}}],
    "conditions": {},
}  # fmt: skip


@pytest.fixture
def drill(tmp_path: Path):
    path = tmp_path / "flat.json"
    path.write_text(json.dumps(FLAT))
    return load_drill(path)


def test_independent_route_a_place_worked_out_by_hand(drill) -> None:
    got = plain(signal_at(drill, (30.0, 50.0), height_m=1.0))["burials"][0]
    offset = np.array([8.0, 9.0, 1.8])
    field = harmonic_dipole_field(moment_am2(1e-6) * antenna_axis(radians(40), radians(10)), offset)
    np.testing.assert_allclose(got["field_a_per_m"], np.stack([field.real, field.imag], axis=-1), rtol=1e-12)
    assert got["distance_m"] == pytest.approx(np.linalg.norm(offset))
    assert got["magnitude_a_per_m"] == pytest.approx(np.linalg.norm(field))
    assert got["audible"] is True
    assert got["reading_m"] == round((moment_am2(1e-6) / (2 * np.pi * got["magnitude_a_per_m"])) ** (1 / 3))


def test_contract_a_burial_without_a_set_has_no_values_and_keeps_its_place(drill) -> None:
    burials = plain(signal_at(drill, (30.0, 50.0)))["burials"]
    assert [b["id"] for b in burials] == ["A", "B"]
    assert all(value is None for key, value in burials[1].items() if key != "id")
    assert "has no set" in in_lines(signal_words(signal_at(drill, (30.0, 50.0)), drill))


def test_contract_a_set_with_one_antenna_has_no_line(tmp_path: Path) -> None:
    # One antenna at one heading gives no direction: null, and a text; the reading stays.
    path = tmp_path / "one.json"
    one = {**FLAT["searchers"][0], "receiver": {"coaxial_range_m": 45, "antennas": 1}}
    path.write_text(json.dumps({**FLAT, "searchers": [one]}))
    signal = signal_at(load_drill(path), (30.0, 50.0), heading_rad=0.7)
    burial = plain(signal)["burials"][0]
    assert (burial["audible"], burial["direction_deg"]) == (True, None)
    assert (
        burial["reading_m"] == signal_at(load_drill(path), (30.0, 50.0), heading_rad=0.7).burials[0].reading_m
    )
    assert "has no line" in say(signal_words(signal, load_drill(path))[1])
    assert any(note.code == "note.one_antenna" for note in signal.notes)


def test_contract_silence_is_null_reading_and_direction(drill) -> None:
    heard = plain(signal_at(drill, (22.0, 141.0)))["burials"][0]
    assert (heard["audible"], heard["reading_m"], heard["direction_deg"]) == (False, None, None)
    assert heard["magnitude_a_per_m"] > 0


def test_contract_height_defaults_to_how_the_set_is_carried(drill) -> None:
    assert signal_at(drill, (22.0, 100.0)).height_m == 1.0
    assert signal_at(drill, (22.0, 41.0)).height_m == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("place", "height", "words"),
    [
        ((22.0, 41.0 + 201.0), 1.0, "beyond 200 m"),
        ((22.0, 41.0), None, "closer than"),
        ((-300.0, 0.0), None, "beyond"),
    ],
)
def test_contract_outside_the_model_is_refused_with_the_reason(drill, place, height, words) -> None:
    if words == "closer than":
        from dataclasses import replace

        near = replace(drill.burials[0], depth_m=0.05)
        drill, height = replace(drill, burials=(near,)), 0.0
    with pytest.raises(OutOfModel, match=words):
        signal_at(drill, place, height_m=height)


@pytest.mark.parametrize(
    ("place", "height", "heading"),
    [((np.nan, 0.0), None, 0.0), ((1.0, 1.0), -1.0, 0.0), ((1.0, 1.0), None, np.inf)],
)
def test_contract_figures_that_are_no_place_are_refused(drill, place, height, heading) -> None:
    with pytest.raises(BadInput):
        signal_at(drill, place, height_m=height, heading_rad=heading)


def test_contract_an_unknown_searcher_is_named(drill) -> None:
    with pytest.raises(UnknownRecord, match="nobody-here"):
        signal_at(drill, (30.0, 50.0), searcher="nobody-here")


def test_contract_every_searcher_of_the_demo_hears_something_near_a_set() -> None:
    drill = load_drill(DEMO)
    for searcher in drill.searchers:
        signal = signal_at(drill, (35.0, 62.0), searcher=searcher.name)
        assert signal.searcher == searcher.id
        assert signal.burials[0].audible
