import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import coldfield.app
from coldfield.app.drills.files import load_drill
from coldfield.cli.main import group
from coldfield.drill.terrain import Plane
from coldfield.search.lanes.plan import plan_lanes
from coldfield.search.lanes.snow_axes import Flat, Pace
from coldfield.search.width.choice import heard_s, width_choices
from coldfield.survival.curves import DEFAULT
from grounds import GROUNDS, people, site

DEMO_FILE = Path(coldfield.app.__file__).parent / "demo/drill.json"
DEMO = load_drill(DEMO_FILE)


def test_property_wider_strips_are_quicker_and_hear_less() -> None:
    choices = width_choices(DEMO, DEMO.searchers[:1], [12.0, 24.0, 48.0])
    assert sorted(c.seconds for c in choices) == [c.seconds for c in choices][::-1]
    for name in ("worst_point_probability", "mean_probability"):
        values = [getattr(c, name) for c in choices]
        assert values == sorted(values, reverse=True)
    # Nobody survives better than when reached at once.
    assert all(0.0 < c.expected_survival < float(DEFAULT.survival(540.0)) for c in choices)


def test_independent_route_all_ground_is_heard_between_the_way_and_the_end() -> None:
    ground = site(GROUNDS["field, 0.48 ha"])
    team = people(2)
    plan = plan_lanes(ground, team, strip_width_m=20.0, sharing="own sectors")
    places = np.random.default_rng(3).uniform([0, 0], [60, 80], (300, 2))
    times = heard_s(plan, team, places, Pace(flat=Flat(terrain=Plane.of(ground))))
    assert np.isfinite(times).all()
    assert times.max() <= plan.seconds
    # Nobody is nearer than by walking straight at 1.2 m/s, less half a width and a step of 2.5 m.
    straight = (np.hypot(*(places - np.array(ground.entry_m)).T) - 10.0 - 2.5) / 1.2
    assert (times >= straight - 1e-9).all()


def test_contract_the_command_compares_widths() -> None:
    args = [
        "strips",
        str(DEMO_FILE),
        "--searchers",
        "1",
        "--strip-width-m",
        "30",
        "--compare",
        "20",
        "--compare",
        "40",
    ]
    told = json.loads(CliRunner().invoke(group, [*args, "--json"]).stdout)
    assert [row["strip_width_m"] for row in told["widths"]] == [20.0, 40.0]
    assert "survival of one person" in CliRunner().invoke(group, args).stdout
    wrong = CliRunner().invoke(group, ["strips", str(DEMO_FILE), "--strip-width-m", "30", "--compare", "-1"])
    assert "must be above 0" in str(wrong.exception)


@pytest.mark.parametrize("width_m", [500.0])
def test_contract_a_width_beyond_the_model_is_refused(width_m: float) -> None:
    from coldfield.errors import OutOfModel

    with pytest.raises(OutOfModel, match="at most 400"):
        width_choices(DEMO, DEMO.searchers[:1], [width_m])
