"""What was measured of a set stands with it; a burial names its set, and loses the name with the person."""

from __future__ import annotations

import pytest

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
    import json

    document = drill()
    document["burials"][0]["set"] = "HL-03"
    written = json.loads(write_drill(read_drill(json.dumps(document))))
    assert [one.get("set") for one in written["burials"]] == ["HL-03", None]


def test_contract_a_set_called_after_a_person_loses_the_name_with_the_person(database: Database) -> None:
    a_small_season(database)
    document = drill()
    document["burials"][0]["set"] = "Yuki's set"
    put(database, "drills", "hidden", document=document)
    put(database, "runs", "hidden-run", drill_id="hidden", as_buried=document["burials"])
    forget(database, "yuki")
    assert find(database, "drills", "hidden")["document"]["burials"][0]["set"] == "(forgotten person)'s set"
    assert find(database, "runs", "hidden-run")["as_buried"][0]["set"] == "(forgotten person)'s set"
