"""Measured values are kept with a set; a burial refers to its set, and the name goes with the person."""

from __future__ import annotations

import json
import math

import pytest

from coldfield.app.kit.receivers import kit_receivers
from coldfield.app.records.keeping import forget
from coldfield.app.records.reading import find, read_form
from coldfield.errors import BadInput
from coldfield.files.drill_json import read_drill, write_drill
from coldfield.records.database import Database
from example_records import a_small_season, drill, put

FIGURES = {"field_at_10m_ua_per_m": 0.8, "period_s": 0.93, "pulse_s": 0.09, "coaxial_range_m": None}


def test_contract_figures_of_a_set_are_kept_and_bounded(database: Database) -> None:
    put(database, "kit", "hl-01", kind="set", label="HL-01", figures=FIGURES)
    assert find(database, "kit", "hl-01")["figures"] == FIGURES
    put(database, "kit", "hl-02", kind="set", label="HL-02")
    assert find(database, "kit", "hl-02")["figures"] is None
    with pytest.raises(BadInput, match=r"figures\.period_s"):
        read_form("kit", {"kind": "set", "label": "HL-03", "figures": {"period_s": 9.0}})


def test_property_a_drill_file_keeps_which_set_is_hidden() -> None:
    document = drill()
    document["burials"][0]["set"] = "HL-03"
    written = json.loads(write_drill(read_drill(json.dumps(document))))
    assert [one.get("set") for one in written["burials"]] == ["HL-03", None]


def test_property_a_drill_file_keeps_which_set_somebody_searches_with() -> None:
    document = drill()
    document["searchers"][0]["set"] = "HL-04"
    written = json.loads(write_drill(read_drill(json.dumps(document))))
    assert [one.get("set") for one in written["searchers"]][:2] == ["HL-04", None]


def test_contract_a_set_called_after_a_person_loses_the_name_with_the_person(database: Database) -> None:
    a_small_season(database)
    document = drill()
    document["burials"][0]["set"] = "Yuki's set"
    document["searchers"][0]["set"] = "Yuki's other set"
    put(database, "drills", "hidden", document=document)
    put(database, "runs", "hidden-run", drill_id="hidden", as_buried=document["burials"])
    forget(database, "yuki")
    assert find(database, "drills", "hidden")["document"]["burials"][0]["set"] == "(forgotten person)'s set"
    searcher = find(database, "drills", "hidden")["document"]["searchers"][0]
    assert searcher["set"] == "(forgotten person)'s other set"
    assert find(database, "runs", "hidden-run")["as_buried"][0]["set"] == "(forgotten person)'s set"


def test_contract_a_receiver_is_that_of_the_newest_range_test_else_of_the_figures(database: Database) -> None:
    put(database, "people", "yuki", name="Yuki")
    put(
        database, "kit", "tested", kind="set", label="HL-01", owner_id="yuki", figures={"coaxial_range_m": 50}
    )
    put(database, "kit", "known", kind="set", label="HL-02", figures={"coaxial_range_m": 41.5})
    put(database, "kit", "unknown", kind="set", label="HL-03", state="to check")
    put(database, "kit", "gone", kind="set", label="HL-04", state="retired")
    put(database, "kit", "probe", kind="probe", label="HL-P1")
    # By id the newest comes first, and the last one cannot be fitted.
    for name, held, reach, upright in (("a", "2025-11-01", 36.0, [18.0]), ("b", "2024-11-01", 45.0, [])):
        put(database, "range_tests", name, kit_id="tested", held=held, coaxial_m=[reach], upright_m=upright)
    put(
        database, "range_tests", "c", kit_id="tested", held="2025-12-01", coaxial_m=[30.0],
        upright_m=[90.0], antennas=2,
    )  # fmt: skip
    tested, known, unknown = kit_receivers(database).sets
    assert (tested.label, tested.owner, tested.source, tested.held) == (
        "HL-01",
        "Yuki",
        "range test",
        "2025-11-01",
    )
    assert tested.coaxial_range_m == pytest.approx(36.0, abs=0.05)
    assert tested.antennas == 3
    assert tested.antenna_factors is not None
    assert (known.coaxial_range_m, known.source, known.antennas) == (41.5, "figures", None)
    assert (unknown.label, unknown.coaxial_range_m, unknown.source) == ("HL-03", None, None)


def test_independent_route_a_test_against_a_stronger_set_gives_the_range_against_a_middle_one(
    database: Database,
) -> None:
    # On the axis the field of a dipole with wave number k falls as sqrt(1 + (k r)^2) / r^3 (Jackson,
    # Classical Electrodynamics, 9.3, from memory); a set that sends half has half of it everywhere.
    put(database, "kit", "one", kind="set", label="HL-01")
    put(
        database, "range_tests", "t", kit_id="one", held="2025-11-01", coaxial_m=[40.0],
        field_at_10m_ua_per_m=2.0,
    )  # fmt: skip
    (one,) = kit_receivers(database).sets
    k = 2.0 * math.pi * 457e3 / 299_792_458.0

    def field(r: float) -> float:
        return math.hypot(1.0, k * r) / r**3

    assert one.coaxial_range_m is not None
    assert field(one.coaxial_range_m) == pytest.approx(2.0 * field(40.0), rel=0.01)
