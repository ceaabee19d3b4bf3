import copy
import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.drill.skills import MOST_SPREAD, SHARED, SKILLS, TABLE
from coldfield.errors import BadInput
from coldfield.files.drill_json import drill_schema, read_drill, write_drill
from coldfield.files.drill_model import skill_key

DRILL: dict[str, Any] = {
    "format": "coldfield-drill/1",
    "name": "Two on the lower fan",
    "site": {
        "origin": {"latitude_deg": 61.2, "longitude_deg": 8.1, "elevation_m": 1180},
        "boundary_m": [[0, 0], [60, 0], [60, 80], [0, 80]],
        "entry_m": [30, 0],
        "anchors": [{"name": "cairn", "position_m": [0, 0]}],
    },
    "burials": [
        {
            "id": "A",
            "position_m": [22, 41],
            "depth_m": 0.8,
            "antenna": {"azimuth_deg": 40, "tilt_deg": 10},
            "transmitter": {"field_at_10m_ua_per_m": 1.1},
        },
        {"id": "B", "position_m": [40, 60], "depth_m": 1.2, "transmitter": None},
    ],
    "searchers": [
        {"id": "s1", "name": "Ines", "skill": "practised", "receiver": {"coaxial_range_m": 45}},
        {
            "id": "s2",
            "name": "Bram",
            "skill": {"like": "expert", "probe_hole_s": 2.5},
            "receiver": {"threshold_na_per_m": 12.5, "antennas": 2},
            "probe": True,
        },
    ],
}


def _faults(value: Any) -> list[str]:
    with pytest.raises(BadInput) as caught:
        read_drill(value if isinstance(value, str) else json.dumps(value), "bowl.json")
    assert all(line.startswith("bowl.json: ") for line in caught.value.lines())
    return list(caught.value.texts())


def _changed(path: str, value: Any) -> dict[str, Any]:
    drill = copy.deepcopy(DRILL)
    place: Any = drill
    *way, last = [int(p) if p.isdigit() else p for p in path.split("/")]
    for step in way:
        place = place[step]
    place[last] = value
    return drill


def test_contract_defaults_are_those_of_the_format() -> None:
    drill = read_drill(json.dumps(DRILL))
    assert drill.conditions.burial_to_alarm_s == 60
    assert drill.conditions.strip_width_m is None
    assert drill.burials[0].body_azimuth_rad == drill.burials[0].antenna.azimuth_rad
    assert drill.burials[0].transmitter is not None
    assert drill.burials[0].transmitter.period_s == 1.0
    assert drill.burials[1].transmitter is None
    assert [s.probe_length_m for s in drill.searchers] == [2.4, 2.4]
    assert drill.searchers[0].receiver.antenna_factors == (1.0, 1.0, 3.0)
    assert drill.searchers[1].receiver.antenna_factors == (1.0, 1.0)
    assert drill.searchers[1].skill.probe_hole_s == 2.5


def test_property_writing_and_reading_gives_the_same_drill() -> None:
    drill = read_drill(json.dumps(DRILL))
    assert read_drill(write_drill(drill)) == drill


@given(
    azimuth=st.floats(-360, 360),
    tilt=st.floats(-90, 90),
    depth=st.floats(0.01, 10),
    field=st.floats(0.01, 10),
)
@examples(60)
def test_property_round_trip_keeps_twelve_digits(
    azimuth: float, tilt: float, depth: float, field: float
) -> None:
    value = _changed("burials/0/antenna", {"azimuth_deg": azimuth, "tilt_deg": tilt})
    value["burials"][0]["depth_m"] = depth
    value["burials"][0]["transmitter"]["field_at_10m_ua_per_m"] = field
    once = read_drill(json.dumps(value))
    twice = read_drill(write_drill(once))
    assert twice.burials[0].antenna.azimuth_rad == pytest.approx(
        once.burials[0].antenna.azimuth_rad, rel=1e-11
    )
    assert read_drill(write_drill(twice)) == twice


@pytest.mark.parametrize(
    ("path", "value", "line"),
    [
        ("burials/1/depth_m", 11, "burials[1].depth_m: must be above 0 and at most 10"),
        ("burials/1/depth_m", 0, "burials[1].depth_m: must be above 0 and at most 10"),
        ("burials/0/depth_m", "1", "burials[0].depth_m: must be a number"),
        ("burials/0/depth_m", True, "burials[0].depth_m: must be a number"),
        ("burials/1/id", "A", "burials[1].id: 'A' is used twice; give each its own"),
        ("searchers/1/id", "s1", "searchers[1].id: 's1' is used twice; give each its own"),
        ("burials/0/depht_m", 1, "burials[0].depht_m: is not a key here; did you mean depth_m?"),
        ("conditions", {"travel": "by bus"}, "conditions.travel: must be 'on foot', 'on ski' or 'on snowshoe'"),
        ("searchers/0/skill", "guru", "searchers[0].skill: must be 'novice', 'practised' or 'expert'"),
        ("searchers/0/skill", {"like": "expert", "probe_hole_s": -1}, "searchers[0].skill.probe_hole_s: must be at least 0"),
        ("searchers/0/receiver/threshold_na_per_m", 9, "searchers[0].receiver: give either coaxial_range_m or threshold_na_per_m, not both"),
        ("searchers/0/receiver", {}, "searchers[0].receiver: give either coaxial_range_m or threshold_na_per_m"),
        ("searchers/0/receiver/antenna_factors", [1, 1], "searchers[0].receiver.antenna_factors: has 2 entries for 3 antennas; give one for each"),
        ("searchers/1/probe_length_m", -1, "searchers[1].probe_length_m: must be above 0 and at most 6"),
        ("site/boundary_m", [[0, 0], [60, 80], [60, 0], [0, 80]], "site.boundary_m: crosses or touches itself near (30, 40); give the corners in order round the ground"),
        ("site/boundary_m", [[0, 0], [60, 0]], "site.boundary_m: must have at least 3 entries"),
        ("burials/0/position_m", [99, 1], "burials[0].position_m: (99, 1) lies outside the boundary; positions are in metres, east then north"),
        ("site/holes_m", [[[20, 40], [25, 40], [25, 45]], [[50, 70], [70, 70], [70, 75]]], "site.holes_m[1]: must lie inside the boundary"),
        ("format", "coldfield-drill/0", "format: must be 'coldfield-drill/1'; this file says 'coldfield-drill/0'"),
        ("conditions", {"moon_phase": 0.5}, "conditions.moon_phase: is not a key here; known keys: noise_rise_db, snow_density_kg_m3, travel, strip_width_m, burial_to_alarm_s, lane_heading_deg; a newer Coldfield may know more"),
    ],
)  # fmt: skip
def test_contract_each_fault_is_told_with_its_path(path: str, value: Any, line: str) -> None:
    assert _faults(_changed(path, value)) == [line]


@pytest.mark.parametrize("version", ["2", "17", "1.1", "2.3"])
def test_contract_a_newer_drill_file_is_refused_in_words_and_nothing_else_is_said(version: str) -> None:
    value = _changed("burials/1/depth_m", 11) | {"format": f"coldfield-drill/{version}", "weather": "new key"}
    (line,) = _faults(value)
    assert line.startswith(f"format: this drill was made by a newer Coldfield ('coldfield-drill/{version}')")


@given(st.one_of(st.text(max_size=20), st.integers(), st.none(), st.lists(st.text(max_size=3), max_size=2)))
@examples(40)
def test_property_any_other_format_is_one_line(told: Any) -> None:
    (line,) = _faults({**DRILL, "format": told})
    assert line.startswith("format: must be 'coldfield-drill/1'")


def test_contract_nobody_told_the_declination() -> None:
    untold = _changed("site/declination_deg", None)
    del (missing := copy.deepcopy(untold))["site"]["declination_deg"]
    for value in (untold, missing):
        assert read_drill(json.dumps(value)).site.declination_rad is None
        assert json.loads(write_drill(read_drill(json.dumps(value))))["site"]["declination_deg"] is None
    assert read_drill(json.dumps(_changed("site/declination_deg", 0))).site.declination_rad == 0.0


def test_contract_all_faults_come_at_once() -> None:
    value = _changed("burials/1/depth_m", 11)
    value["burials"][0]["position_m"] = [99, 1]
    value["site"]["slope_deg"] = 75
    del value["searchers"][0]["name"]
    assert _faults(value) == [
        "site.slope_deg: must be at least 0 and at most 60",
        "burials[1].depth_m: must be above 0 and at most 10",
        "searchers[0].name: is missing",
        "burials[0].position_m: (99, 1) lies outside the boundary; positions are in metres, east then north",
    ]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("{", "not JSON"),
        ("[]", "one JSON object"),
        ('{"format": "coldfield-drill/1", "format": "x"}', "is used twice"),
        ('{"format": "coldfield-drill/1", "name": NaN}', "NaN is not a number"),
        ("[" * 100_000, "nested too deeply"),
        (
            '{"format": "coldfield-drill/1", "site": {"slope_deg": 1e999}}',
            "site.slope_deg: must be a finite number",
        ),
    ],
)
def test_contract_broken_text_is_one_clear_line(text: str, part: str) -> None:
    assert part in "\n".join(_faults(text))


@given(st.recursive(st.none() | st.booleans() | st.floats() | st.text(max_size=5), lambda c: st.lists(c, max_size=3) | st.dictionaries(st.sampled_from(["format", "site", "burials", "id", "searchers", "position_m"]), c, max_size=4)))  # fmt: skip
@examples(60)
def test_property_any_json_is_read_or_refused(value: Any) -> None:
    merged = {**DRILL, **value, "format": "coldfield-drill/1"} if isinstance(value, dict) else value
    try:
        read_drill(json.dumps(merged))
    except BadInput as error:
        assert error.texts()


def test_independent_route_schema_accepts_what_the_reader_accepts() -> None:
    # jsonschema-rs: an independent validator of JSON Schema.
    from jsonschema_rs import Draft202012Validator, meta

    schema = drill_schema()
    assert meta.is_valid(schema)
    validator = Draft202012Validator(schema)
    assert not list(validator.iter_errors(DRILL))
    assert not list(validator.iter_errors(json.loads(write_drill(read_drill(json.dumps(DRILL))))))
    for path, value in [("burials/1/depth_m", 11), ("burials/0/depht_m", 1), ("searchers/0/skill", "guru")]:
        assert list(validator.iter_errors(_changed(path, value)))


_MIDDLES = {
    skill_key(line.name): st.integers(1, 10)
    if line.kind == "count"
    else st.floats(0.01, 1.0 if line.kind == "share" else 50.0)
    for line in TABLE
}
_DEVIATION = st.fixed_dictionaries(
    {}, optional={"between": st.floats(0, MOST_SPREAD), "within": st.floats(0, MOST_SPREAD)}
)
_SKILL_OBJECTS = st.fixed_dictionaries(
    {},
    optional={
        "like": st.sampled_from(["novice", "practised", "expert"]),
        **_MIDDLES,
        "spread": st.dictionaries(st.sampled_from(sorted(set(_MIDDLES) - {"fine_rounds"})), _DEVIATION),
        "shared": st.floats(0, 1),
    },
)


@given(skill=_SKILL_OBJECTS, marking=st.booleans() | st.floats(0, 1))
@examples(150)
def test_property_skills_with_spreads_and_marking_go_there_and_back(skill: Any, marking: Any) -> None:
    value = _changed("searchers/0/skill", skill)
    value["searchers"][0]["receiver"]["marking"] = marking
    once = read_drill(json.dumps(value))
    told, spread = once.searchers[0].skill, skill.get("spread", {})
    for line in TABLE:
        given = skill.get(skill_key(line.name))
        middle = getattr(SKILLS[skill.get("like", "practised")], line.name) if given is None else given
        own = spread.get(skill_key(line.name), {})
        if not (line.name.endswith("_rad") and given is not None):
            assert getattr(told, line.name) == middle
        assert told.spread[line.name].between == own.get("between", line.spread.between)
        assert told.spread[line.name].within == own.get("within", line.spread.within)
    assert told.shared == skill.get("shared", SHARED)
    twice = read_drill(write_drill(once))
    assert read_drill(write_drill(twice)) == twice
    assert replace(twice.searchers[0].skill, direction_noise_rad=told.direction_noise_rad) == told
    assert twice.searchers[0].receiver == once.searchers[0].receiver


def test_contract_a_skill_without_spreads_takes_those_of_the_table() -> None:
    value = _changed("searchers/0/skill", {"like": "novice", "fine_speed_m_s": 0.08})
    assert read_drill(json.dumps(value)).searchers[0].skill == replace(SKILLS["novice"], fine_speed_m_s=0.08)


def test_contract_every_fault_of_a_skill_comes_with_its_path() -> None:
    value = _changed(
        "searchers/1/skill",
        {
            "like": "practised",
            "fine_speed_m_s": 0,
            "marking_fraction": 1.5,
            "fine_rounds": 0,
            "shared": -0.1,
            "spread": {"turn_s": {"between": 3}, "probe_hole_s": {"within": "much"}, "fine_rounds": {}},
        },
    )
    value["searchers"][0]["receiver"]["marking"] = "often"
    value["searchers"][1]["receiver"]["marking"] = 1.01
    faults = _faults(value)
    for line in (
        "searchers[0].receiver.marking: must be true, false or a share from 0 to 1",
        "searchers[1].receiver.marking: must be true, false or a share from 0 to 1",
        "searchers[1].skill.fine_speed_m_s: must be above 0",
        "searchers[1].skill.marking_fraction: must be at least 0 and at most 1",
        "searchers[1].skill.fine_rounds: must be at least 1 and at most 10",
        "searchers[1].skill.shared: must be at least 0 and at most 1",
        "searchers[1].skill.spread.turn_s.between: must be at least 0 and at most 2",
        "searchers[1].skill.spread.probe_hole_s.within: must be a number",
    ):
        assert line in faults
    assert any(f.startswith("searchers[1].skill.spread.fine_rounds: is not a key here") for f in faults)
    assert len(faults) == 9
