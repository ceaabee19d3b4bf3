import json
from dataclasses import replace
from math import floor
from pathlib import Path

import numpy as np
import pytest

import coldfield.app
from coldfield.app.answers import plain
from coldfield.app.drills.files import load_drill
from coldfield.app.strips.width import Question, strip_widths
from coldfield.app.strips.width_answer import strip_width_answer, strip_widths_lines
from coldfield.cli.lines import in_lines
from coldfield.errors import BadInput, OutOfModel
from coldfield.search.width.strip_width import edge_width_m, group_pairs, group_strip_width_m
from published import published

DEMO = load_drill(Path(coldfield.app.__file__).parent / "demo/drill.json")


def test_contract_json_has_every_promised_key_and_plain_values() -> None:
    got = plain(strip_width_answer(strip_widths(Question(widths_m=(33.0,)), DEMO)))
    assert json.loads(json.dumps(got, allow_nan=False)) == got
    assert {
        "edge_width_m", "timed_width_m", "sweep_width_m", "coaxial_range_m", "coplanar_range_m",
        "quiet_coaxial_range_m", "pod", "widths", "scenario",
    } <= set(got)  # fmt: skip
    assert set(got["widths"][0]) == {"width_m", "worst_point_probability", "mean_probability", "coverage"}
    assert 33.0 in [w["width_m"] for w in got["widths"]]
    assert got["coaxial_range_m"] < got["quiet_coaxial_range_m"]
    assert [row["words"] for row in got["ground"]]


def test_contract_a_drill_is_judged_by_its_weakest_pair() -> None:
    got = strip_widths(Question(), DEMO)
    assert got.edge_width_m == pytest.approx(min(edge_width_m(p) for p in group_pairs(DEMO)), rel=1e-9)
    assert group_strip_width_m(DEMO) == floor(got.edge_width_m)
    assert got.pair.receiver == DEMO.searcher("tomas").receiver
    assert got.pair.transmitter.field_at_10m_a_per_m == pytest.approx(0.8e-6)


def test_contract_without_anything_the_stated_defaults_hold() -> None:
    got = strip_widths(Question())
    scenario = plain(strip_width_answer(got))["scenario"]
    assert scenario["threshold_na_per_m"] == pytest.approx(80.0)
    assert scenario["field_at_10m_ua_per_m"] == pytest.approx(1.0)
    assert (scenario["area_m2"], scenario["searchers"]) == (10_000.0, 2)
    assert scenario["antenna_factors"] == [1.0, 1.0, 3.0]


def test_contract_typed_figures_take_the_place_of_the_drills() -> None:
    typed = strip_widths(Question(coaxial_range_m=60.0, field_at_10m_a_per_m=1e-6, noise_rise_db=0.0), DEMO)
    assert typed.coaxial_range_m == pytest.approx(60.0)
    quieter = strip_widths(Question(noise_rise_db=0.0), DEMO)
    assert quieter.edge_width_m > strip_widths(Question(), DEMO).edge_width_m


def test_property_todays_range_is_the_range_that_was_typed() -> None:
    got = strip_widths(Question(coaxial_range_m=45.0, range_today_m=30.0))
    assert got.coaxial_range_m == pytest.approx(30.0)
    assert got.quiet_coaxial_range_m == pytest.approx(45.0)


def test_contract_an_upright_range_overrides_the_factor() -> None:
    short, long = (strip_widths(Question(coaxial_range_m=45.0, vertical_range_m=v)) for v in (20.0, 32.0))
    assert short.edge_width_m < long.edge_width_m
    assert short.upright_range_m == pytest.approx(20.0, rel=2e-3)


def test_contract_wider_than_meiers_estimate_is_a_warning() -> None:
    equal = strip_widths(Question(coaxial_range_m=45.0, antenna_factors=(1.0, 1.0, 1.0)))
    assert equal.meier_m == pytest.approx(1.26 * 45.0)
    assert any(warning.code == "warning.wider_than_meier" for warning in equal.warnings)
    assert "Meier" in in_lines(strip_widths_lines(equal))


def test_contract_strong_noise_ends_in_no_width_and_says_so() -> None:
    got = strip_widths(Question(coaxial_range_m=45.0, noise_rise_db=70.0))
    assert got.edge_width_m == 0.0
    assert got.warnings
    assert all(w.worst_point_probability < 0.98 for w in got.widths)


@pytest.mark.parametrize(
    "figures",
    [
        {"threshold_a_per_m": 8e-8, "coaxial_range_m": 40.0},
        {"coaxial_range_m": 40.0, "noise_rise_db": 3.0, "range_today_m": 30.0},
        {"field_at_10m_a_per_m": 0.0},
        {"field_at_10m_a_per_m": -1e-6},
        {"threshold_a_per_m": 0.0},
        {"threshold_a_per_m": -8e-8},
        {"coaxial_range_m": 0.0},
        {"coaxial_range_m": 40.0, "antennas": 2, "antenna_factors": (1.0, 1.0, 3.0)},
        {"coaxial_range_m": 40.0, "antenna_factors": (2.0, 2.0, 2.0)},
        {"coaxial_range_m": 40.0, "vertical_range_m": 39.0},
        {"range_sd_m": -1.0},
    ],
)
def test_contract_contradictory_figures_are_refused(figures: dict) -> None:
    with pytest.raises(BadInput):
        strip_widths(Question(**figures))


@pytest.mark.parametrize(
    "figures",
    [
        {"pod": 0.0},
        {"pod": 1.0},
        {"threshold_a_per_m": 1e-13},
        {"noise_rise_db": 200.0},
        {"widths_m": (-3.0,)},
    ],
)
def test_contract_figures_outside_the_model_are_refused(figures: dict) -> None:
    with pytest.raises(OutOfModel):
        strip_widths(Question(**figures))


def test_contract_a_drill_with_nobody_or_no_set_is_refused() -> None:
    with pytest.raises(OutOfModel, match="at least one searcher"):
        strip_widths(Question(), replace(DEMO, searchers=()))
    with pytest.raises(OutOfModel, match="at least one searcher"):
        strip_widths(Question(), replace(DEMO, burials=()))


def test_contract_widths_that_are_taught_stand_in_the_table() -> None:
    taught = published("strip_width")["widths_taught_m"]
    assert set(taught) <= {w.width_m for w in strip_widths(Question()).widths}


def test_property_ground_shares_are_near_one_close_by_and_grow_out_there() -> None:
    # At a range of 8 m nothing is left of the ground's part but some per cent; at 45 m wet soil is felt.
    near = strip_widths(Question(coaxial_range_m=8.0)).ground
    assert all(row.edge_width_share == pytest.approx(1.0, abs=0.06) for row in near)
    far = {row.words: row for row in strip_widths(Question(coaxial_range_m=45.0)).ground}
    assert far["wet soil"].side_by_side_share > 1.1
    assert far["wet soil"].sweep_width_share > 1.1
    assert far["dry rock or frozen ground"].edge_width_share == pytest.approx(1.0, abs=0.1)


def test_contract_the_width_a_drill_plans_with_is_judged_too() -> None:
    planned = replace(DEMO, conditions=replace(DEMO.conditions, strip_width_m=37.0))
    row = next(w for w in strip_widths(Question(), planned).widths if w.width_m == 37.0)
    assert 0.5 < row.worst_point_probability < 0.98  # wider than the edge width of 32 m


def test_property_each_set_alone_allows_at_least_the_weakest_width_and_quiet_more() -> None:
    got = strip_widths(Question(), DEMO)
    alone = {row.id: row.edge_width_m or 0.0 for row in got.reasons.searchers}
    assert list(alone) == [s.id for s in DEMO.searchers]
    assert [row.id for row in got.reasons.searchers if row.weakest] == ["tomas"]
    # The others are known to about 0.3 m only.
    assert min(alone.values()) > got.edge_width_m - 0.5
    assert [row.id for row in got.reasons.burials if row.weakest] == ["B"]
    assert got.reasons.quiet_edge_width_m is not None
    assert got.reasons.quiet_edge_width_m > got.edge_width_m
    assert strip_widths(Question(coaxial_range_m=40.0), DEMO).reasons.searchers == ()


def test_independent_route_chances_by_width_agree_with_those_worked_out_for_one_width() -> None:
    got = strip_widths(Question(), DEMO)
    rows = plain(strip_width_answer(got))["chances_by_width"]
    worst = [row["worst_point_probability"] for row in rows]
    assert worst == sorted(worst, reverse=True)
    for told in got.widths:
        if told.width_m < rows[-1]["width_m"]:
            near = np.interp(told.width_m, [r["width_m"] for r in rows], worst)
            # Straight lines between 65 distances: the curve bends by less than a hundredth between them.
            assert near == pytest.approx(told.worst_point_probability, abs=0.01)
