from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from coldfield.app.answers import said
from coldfield.app.debriefs.from_files import debrief, load_run
from coldfield.app.debriefs.lines import debrief_words
from coldfield.app.demo.demo import demo_drill
from coldfield.app.drills.files import save_drill
from coldfield.debrief.findings.yardsticks import Standard
from coldfield.errors import BadInput
from coldfield.words import say

PLACE = (61.2150, 8.0880)


def _gpx(name: str, moments: list[int | None]) -> str:
    points = "".join(
        f'<trkpt lat="{PLACE[0] + 6e-6 * i}" lon="{PLACE[1] + 3e-6 * i}">'
        + ("" if t is None else f"<time>2026-02-14T09:{30 + t // 60:02d}:{t % 60:02d}Z</time>")
        + "</trkpt>"
        for i, t in enumerate(moments)
    )
    return (
        '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk>'
        f"<name>{name}</name><trkseg>{points}</trkseg></trk></gpx>"
    )


def _run(folder: Path, files: dict[str, str]) -> tuple[dict[str, int | None], tuple[str, ...]]:
    save_drill(demo_drill(), folder / "drill.json")
    for name, text in files.items():
        (folder / name).write_text(text)
    done = debrief(load_run(folder / "drill.json", [folder / name for name in files]))
    points = {s["id"]: s["track"] and s["track"]["points"] for s in said(done.document)["searchers"]}
    return points, tuple(say(fault) for fault in done.faults)


def test_contract_a_recording_that_cannot_be_used_neither_hides_nor_spoils_the_other(tmp_path: Path) -> None:
    forward: list[int | None] = list(range(100))
    backward: list[int | None] = list(reversed(range(100)))
    untimed: list[int | None] = [None] * 100
    points, faults = _run(
        tmp_path,
        {
            "bram.gpx": _gpx("Bram", backward),
            "watch.gpx": _gpx("Bram", forward),
            "yuki.gpx": _gpx("Yuki", untimed),
            "phone.gpx": _gpx("Yuki", forward),
        },
    )
    assert points == {"ines": None, "bram": 100, "yuki": 100, "tomas": None}
    assert [fault.partition(": ")[2] for fault in faults] == [
        "its times run backwards at 99 of 99 steps; it is not a recorded track",
        "its points have no times; export it with times",
    ]


def test_contract_the_document_names_its_files_so_that_notes_about_one_are_known(tmp_path: Path) -> None:
    forward: list[int | None] = list(range(100))
    save_drill(demo_drill(), tmp_path / "drill.json")
    texts = {"bram.gpx": _gpx("Bram", forward), "yuki.gpx": _gpx("Yuki", [None] * 100), "pia 2.gpx": "no XML"}
    for name, text in texts.items():
        (tmp_path / name).write_text(text)
    made = debrief(load_run(tmp_path / "drill.json", [tmp_path / name for name in texts]))
    named = said(made.document)["run"]["files"]
    assert {Path(name).name for name in named} == set(texts)
    assert len(made.faults) == 2
    for fault in made.faults:
        assert fault in made.document.run.notes
        assert fault.place[0] in named


def test_contract_an_elevation_grid_lies_under_the_run_and_must_tell_its_system(tmp_path: Path) -> None:
    rows = "\n".join(" ".join(f"{1180 + 0.2 * 10 * j:.1f}" for _ in range(60)) for j in reversed(range(60)))
    head = "ncols 60\nnrows 60\nxllcenter -200\nyllcenter -200\ncellsize 10\n"
    (tmp_path / "ground.asc").write_text(head + rows + "\n")
    (tmp_path / "bram.gpx").write_text(_gpx("Bram", list(range(100))))
    save_drill(demo_drill(), tmp_path / "drill.json")
    files = (tmp_path / "drill.json", [tmp_path / "bram.gpx"])
    with pytest.raises(BadInput, match="does not name its coordinate system"):
        load_run(*files, elevation=tmp_path / "ground.asc")
    run = load_run(*files, elevation=tmp_path / "ground.asc", crs="site")
    on_grid, on_plane = said(debrief(run).document), said(debrief(load_run(*files)).document)
    assert any("elevation grid" in note for note in on_grid["run"]["notes"])
    # The grid rises by 0.2, the drill's plane by tan 9 degrees = 0.158, both nearly along the walk north.
    lengths = [made["searchers"][1]["track"]["length_m"] for made in (on_grid, on_plane)]
    assert lengths[0] / lengths[1] == pytest.approx(np.sqrt(1.04) / np.sqrt(1.0 + 0.158**2), abs=0.003)


SPLITS = """t_s,searcher,burial,split,note
0,,,alarm,
80,ines,A,first_signal,
130,ines,A,within_10_m,
190,ines,A,lowest_reading,
230,ines,A,probe_strike,
500,,A,airway_clear,
60,,,observation,leader named
"""


def test_contract_a_debrief_of_splits_alone_tells_the_minutes_and_leaves_out_what_needs_tracks(
    tmp_path: Path,
) -> None:
    save_drill(demo_drill(), tmp_path / "drill.json")
    (tmp_path / "splits.csv").write_text(SPLITS)
    run = load_run(tmp_path / "drill.json", [], splits=tmp_path / "splits.csv")
    done = debrief(run, band_runs=20, standards=[Standard(what="airway", most_s=300.0)])
    told = said(done.document)
    assert told["run"]["time_zero"] == "alarm split"
    assert (told["run"]["alarm_utc"], told["run"]["zero_utc"]) == (None, None)
    assert (told["lanes"], told["flux_lines"], told["swept"], told["hearing"]["contours"]) == (
        [],
        [],
        None,
        [],
    )
    ines = next(one for one in told["searchers"] if one["id"] == "ines")
    assert {one["phase"]: one["burial"] for one in ines["phases"]} == dict.fromkeys(
        ("signal", "coarse", "fine", "probe", "dig"), "A"
    )
    assert {one["burial"] for one in told["unknown_phases"]} == {"B"}
    assert {band["burial"] for band in told["bands"]} == {"A", "B"}
    assert [one["burial"] for one in told["survival"]["burials"]] == ["A"]
    kinds = {one["kind"] for one in told["findings"]}
    assert {"standard_missed", "not_found", "observation"} <= kinds
    assert not [note for note in told["run"]["notes"] if "track" in note or "anchor" in note]
    lines = list(debrief_words(done.document))
    assert lines[1].startswith("No track was recorded: ")
    assert any("unknown at B" in line for line in lines)


def test_contract_splits_without_an_alarm_count_from_the_first_one(tmp_path: Path) -> None:
    save_drill(demo_drill(), tmp_path / "drill.json")
    rows = "2026-02-14T09:31:00Z,ines,A,probe_strike,\n2026-02-14T09:36:00Z,ines,A,airway_clear,\n"
    (tmp_path / "splits.csv").write_text("time,searcher,burial,split,note\n" + rows)
    run = load_run(tmp_path / "drill.json", [], splits=tmp_path / "splits.csv")
    told = said(debrief(run, standards=[Standard(what="airway", most_s=300.0)]).document)
    assert (told["run"]["time_zero"], told["run"]["zero_utc"]) == ("first split", "2026-02-14T09:31:00Z")
    assert told["survival"]["burials"] == []  # the time since the alarm is unknown
    assert not [one for one in told["findings"] if one["kind"].startswith("standard")]


def test_contract_neither_tracks_nor_splits_and_tracks_that_all_fail_are_refused(tmp_path: Path) -> None:
    save_drill(demo_drill(), tmp_path / "drill.json")
    with pytest.raises(BadInput, match="neither tracks nor splits"):
        debrief(load_run(tmp_path / "drill.json", []))
    (tmp_path / "splits.csv").write_text(SPLITS)
    (tmp_path / "ines.gpx").write_text("no XML")
    with pytest.raises(BadInput, match=r"ines\.gpx"):
        debrief(load_run(tmp_path / "drill.json", [tmp_path / "ines.gpx"], splits=tmp_path / "splits.csv"))


def of_splits(folder: Path, rows: str, **how: Any) -> dict[str, Any]:
    save_drill(demo_drill(), folder / "drill.json")
    (folder / "splits.csv").write_text("t_s,searcher,burial,split,note\n" + rows)
    run = load_run(folder / "drill.json", [], splits=folder / "splits.csv")
    return said(debrief(replace(run, **how)).document)


def test_contract_observations_alone_give_a_list_that_counts(tmp_path: Path) -> None:
    rows = ",,,observation,call made (not seen)\n,,,observation,call made\n,,,observation,Dug from below\n"
    told = of_splits(tmp_path, rows)
    assert [(one["about"], one["seen"], one["not_seen"]) for one in told["observed"]] == [
        ("call made", 1, 1),
        ("Dug from below", 1, 0),
    ]
    assert [one["at_s"] for one in told["findings"]] == [None] * 3
    assert (told["unknown_phases"], told["alignment"], told["swept_fraction"]) == ([], None, None)
    assert told["run"]["zero_utc"] is None
    exercises = [one["exercise"] and one["exercise"]["id"] for one in told["findings"]]
    assert exercises == ["first_minute", None, None]


def test_contract_a_split_that_stands_twice_is_told_whatever_it_is_called(tmp_path: Path) -> None:
    rows = "230,ines,A,strike,\n240,,A,Probe strike,\n300,ines,B,first_signal,\n310,bram,B,first_signal,\n"
    told = of_splits(tmp_path, rows)
    again = [note for note in told["run"]["notes"] if "entered" in note]
    assert len(again) == 1
    assert "probe strike of A was entered 2 times (3 min 50 s, 4 min)" in again[0]
    assert next(one for one in told["burials"] if one["id"] == "A")["struck_s"] == 230.0


def test_contract_the_time_entered_for_a_run_is_the_alarms_where_nothing_else_tells_it(
    tmp_path: Path,
) -> None:
    held = datetime(2026, 2, 14, 9, 30, tzinfo=UTC).timestamp()
    told = of_splits(tmp_path, "0,,,alarm,\n230,ines,A,strike,\n", held_unix_s=held)
    assert (told["run"]["alarm_utc"], told["run"]["alarm_from"]) == ("2026-02-14T09:30:00Z", "run")
    assert told["run"]["zone"] == "Europe/Oslo"  # the demo lies at 61.2 north, 8.1 east


def test_contract_digging_is_told_of_those_who_were_there_and_charged_to_nobody(tmp_path: Path) -> None:
    rows = "230,ines,A,strike,\n900,bram,A,airway_clear,\n"
    save_drill(demo_drill(), tmp_path / "drill.json")
    (tmp_path / "splits.csv").write_text("t_s,searcher,burial,split,note\n0,,,alarm,\n" + rows)
    run = load_run(tmp_path / "drill.json", [], splits=tmp_path / "splits.csv")
    limit = [Standard(what="dig", most_s=300.0)]
    told = said(debrief(run, standards=limit).document)
    [dig] = told["digs"]
    assert ([one["searcher"] for one in dig["helpers"]], dig["known"]) == (["ines", "bram"], False)
    missed = next(one for one in told["findings"] if one["kind"] == "standard_missed")
    assert (missed["searcher"], missed["burial"], missed["phase"]) == (None, "A", "dig")
    phoned = said(debrief(replace(run, diggers={"A": ("yuki",)}), standards=limit).document)
    [dig] = phoned["digs"]
    assert ({one["searcher"] for one in dig["helpers"]}, dig["known"]) == ({"ines", "bram", "yuki"}, True)
