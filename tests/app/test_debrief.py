from pathlib import Path

from coldfield.app.debrief import debrief, load_run
from coldfield.app.demo import demo_drill
from coldfield.app.drills import save_drill

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
    points = {s["id"]: s["track"] and s["track"]["points"] for s in done.document["searchers"]}
    return points, done.faults


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
