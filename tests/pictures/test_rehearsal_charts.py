from __future__ import annotations

from pathlib import Path

import pytest

from coldfield.app.drills.files import load_drill
from coldfield.app.rehearsals.pictures import (
    played_again,
    write_rehearsal_chart,
    write_traces_chart,
    write_worth_chart,
)
from coldfield.app.rehearsals.rehearse import Rehearsed, rehearse_drill, worth_of_changes
from coldfield.errors import BadInput

DEMO = Path(__file__).parents[2] / "src/coldfield/app/demo/drill.json"


@pytest.fixture(scope="module")
def rehearsed() -> Rehearsed:
    return rehearse_drill(load_drill(DEMO), runs=120, seed=1, anywhere=True)


def test_contract_every_picture_is_written_whole_and_is_the_same_each_time(
    rehearsed: Rehearsed, tmp_path: Path
) -> None:
    for name in ("a.svg", "b.svg", "c.png"):
        write_rehearsal_chart(rehearsed, tmp_path / name)
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
    assert (tmp_path / "c.png").read_bytes().startswith(b"\x89PNG")
    write_traces_chart(rehearsed, tmp_path / "traces.svg")
    write_worth_chart(worth_of_changes(rehearsed), tmp_path / "worth.svg")
    assert (tmp_path / "worth.svg").stat().st_size > 10_000


def test_independent_route_runs_played_again_end_as_the_compiled_program_said(rehearsed: Rehearsed) -> None:
    runs = played_again(rehearsed)
    assert {"a fast run", "a median run", "a slow run"} <= set(runs)
    ends = []
    for words in ("a fast run", "a median run", "a slow run"):
        played = runs[words][1]
        row = played.run - rehearsed.rehearsal.first_run
        airway = rehearsed.rehearsal.column("airway")[row]
        assert [b.airway_s for b in played.burials] == pytest.approx(airway.tolist(), abs=1e-6)
        ends.append(airway.max())
    assert ends == sorted(ends)


def test_contract_other_endings_are_refused(rehearsed: Rehearsed, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"\.svg or \.png"):
        write_rehearsal_chart(rehearsed, tmp_path / "chart.gif")
