"""An invented run for the page: nobody walked it, and its numbers do not come from the model."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np

BOUNDARY = [[0, 2], [56, 0], [68, 34], [60, 84], [20, 90], [-8, 58]]
HOLE = [[44, 60], [53, 58], [55, 68], [47, 71]]
BURIALS = {"A": ((20.0, 49.0), 40.0), "B": ((47.0, 33.0), 115.0)}


def _walk(stops: list[tuple[float, float, float]], seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Positions once a second between (t_s, east_m, north_m) stops, with drifting position error."""
    rng = np.random.default_rng(seed)
    at = np.array(stops)
    t = np.arange(at[0, 0], at[-1, 0] + 1)
    drift = np.zeros((t.size, 2))
    for i in range(1, t.size):
        drift[i] = 0.985 * drift[i - 1] + rng.normal(0, 0.16, 2)
    xy = np.column_stack([np.interp(t, at[:, 0], at[:, 1]), np.interp(t, at[:, 0], at[:, 2])])
    return t, xy + drift


def _ring(burial: str, reading_m: float) -> list[list[float]]:
    """The line where a level receiver has one reading of a level set: the static dipole in its plane."""
    (x, y), azimuth = BURIALS[burial]
    theta = np.linspace(0, 2 * np.pi, 73)
    r = reading_m * ((1 + 3 * np.cos(theta) ** 2) / 4) ** (1 / 6)
    bearing = np.radians(azimuth) + theta
    return np.column_stack([x + r * np.sin(bearing), y + r * np.cos(bearing)]).round(2).tolist()


def _flux_line(burial: str, start: tuple[float, float]) -> list[list[float]]:
    """From a start to the burial along r = L sin(theta)^2 about the antenna's axis."""
    (x, y), azimuth = BURIALS[burial]
    offset = np.array(start) - (x, y)
    axis = np.array([np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))])
    side = np.array([axis[1], -axis[0]])
    angle = np.arctan2(offset @ side, offset @ axis)
    length = np.hypot(*offset) / np.sin(angle) ** 2
    to = np.sign(angle) * (0 if abs(angle) < np.pi / 2 else np.pi)
    theta = np.linspace(angle, to, 60)[:-1]
    r = length * np.sin(theta) ** 2
    line = np.array([x, y]) + np.outer(r * np.cos(theta), axis) + np.outer(r * np.sin(theta), side)
    return line[r > 2.5].round(2).tolist()


def _swept(tracks: list[np.ndarray], half_m: float) -> dict[str, Any]:
    columns, rows, x0, y0 = 80, 94, -10, -2
    east, north = np.meshgrid(x0 + np.arange(columns) + 0.5, y0 + np.arange(rows) + 0.5)
    near = np.zeros(east.shape, dtype=bool)
    for xy in tracks:
        for x, y in xy[::2]:
            near |= np.hypot(east - x, north - y) <= half_m
    near &= _inside(east, north, BOUNDARY) & ~_inside(east, north, HOLE)
    flat = np.concatenate([[False], near.ravel()])
    borders = np.flatnonzero(flat[1:] != flat[:-1])
    runs = np.diff(np.concatenate([[0], borders, [near.size]])).tolist()
    return {"cell_m": 1.0, "origin_m": [x0, y0], "columns": columns, "rows": rows, "runs": runs}


def _inside(east: np.ndarray, north: np.ndarray, ring: list[list[int]]) -> np.ndarray:
    odd = np.zeros(east.shape, dtype=bool)
    for (ax, ay), (bx, by) in zip(ring, ring[1:] + ring[:1], strict=True):
        if ay != by:
            odd ^= ((ay > north) != (by > north)) & (east < ax + (north - ay) / (by - ay) * (bx - ax))
    return odd


def _track(
    name: str, t: np.ndarray, xy: np.ndarray, gap: tuple[float, float] | None = None
) -> dict[str, Any]:
    keep = [np.ones(t.size, dtype=bool)] if gap is None else [t <= gap[0], t >= gap[1]]
    length = float(np.hypot(*np.diff(xy, axis=0).T).sum())
    return {
        "points": int(t.size), "seconds": float(np.ptp(t)), "length_m": round(length * 0.93, 1),
        "raw_length_m": round(length * 1.08, 1), "accuracy_m": 3.4, "file": f"{name}.gpx",
        "clock_shift_s": 0.0,
        "pieces": [{"t_s": t[k].tolist(), "position_m": xy[k].round(2).tolist()} for k in keep],
    }  # fmt: skip


def _readings(t: np.ndarray, xy: np.ndarray) -> list[dict[str, Any]]:
    told = []
    for burial, ((x, y), azimuth) in BURIALS.items():
        d = xy - (x, y)
        far = np.hypot(*d.T)
        cosine = (d[:, 0] * np.sin(np.radians(azimuth)) + d[:, 1] * np.cos(np.radians(azimuth))) / far
        shown = far / ((1 + 3 * cosine**2) / 4) ** (1 / 6)
        values = [None if r > 38 else (round(float(r)) if r >= 10 else round(float(r), 1)) for r in shown]
        told.append({"burial": burial, "t_s": t.tolist(), "reading_m": values})
    return told


def _phase(burial: str | None, phase: str, start: float, end: float, sure: float | None = None,
           length: float | None = None, ratio: float | None = None) -> dict[str, Any]:  # fmt: skip
    return {
        "burial": burial, "phase": phase, "start_s": start, "end_s": end, "border_uncertainty_s": sure,
        "length_m": length, "speed_m_s": None if length is None else round(length / (end - start), 2),
        "flux_line_ratio": ratio,
    }  # fmt: skip


def invented_run() -> dict[str, Any]:
    """The run of four people that the tests and pictures use."""
    ines = _walk([(0, 28, 0), (20, 14, 6), (55, 12, 34), (78, 11, 54), (100, 2, 66), (128, 6, 72),
                  (165, 16, 56), (190, 20, 50), (420, 20.5, 49), (700, 21, 48)], 1)  # fmt: skip
    bram = _walk([(0, 29, 0), (22, 34, 8), (58, 34, 36), (105, 35, 78), (128, 54, 76), (160, 56, 52),
                  (182, 56, 40), (214, 48, 34), (560, 47, 33), (740, 47, 33)], 2)  # fmt: skip
    yuki = _walk([(0, 27, -2), (196, 27, -1), (250, 19, 44), (700, 19, 48)], 3)
    people = [
        {
            "id": "s1", "name": "Ines", "track": _track("ines", *ines), "readings": _readings(*ines),
            "audible": [{"burial": "A", "seconds": 676.0}, {"burial": "B", "seconds": 590.0}],
            "phases": [
                _phase(None, "signal", 0, 78, 4, 86), _phase("A", "coarse", 78, 186, 6, 68, 1.62),
                _phase("A", "fine", 186, 242), _phase("A", "probe", 242, 296), _phase("A", "dig", 296, 620),
            ],
            "idle": [],
        },
        {
            "id": "s2", "name": "Bram", "track": _track("bram", *bram, (110, 126)),
            "readings": _readings(*bram),
            "audible": [{"burial": "A", "seconds": 610.0}, {"burial": "B", "seconds": 650.0}],
            "phases": [
                _phase(None, "signal", 0, 182, 5, 168), _phase("B", "coarse", 182, 212, 8, 11, 1.1),
                _phase("B", "fine", 212, 290), _phase("B", "probe", 290, 342), _phase("B", "dig", 342, 730),
            ],
            "idle": [],
        },
        {
            "id": "s3", "name": "Yuki", "track": _track("yuki", *yuki), "readings": _readings(*yuki),
            "audible": [{"burial": "A", "seconds": 480.0}, {"burial": "B", "seconds": 0.0}],
            "phases": [_phase("A", "dig", 300, 620)], "idle": [{"start_s": 0, "end_s": 196}],
        },
        {"id": "s4", "name": "Tomas", "track": None, "readings": [], "audible": [], "phases": [], "idle": []},
    ]  # fmt: skip
    people[0]["approaches"] = [_approach("A", 30.0, 78.0, 186.0, 11.0)]
    people[1]["approaches"] = [_approach("B", 19.0, 182.0, 212.0, 1.4)]
    document = json.loads((Path(__file__).parent / "invented_run.json").read_text(encoding="utf-8"))
    return document | {
        "searchers": people,
        "hearing": {
            "searcher": "s1",
            "words": "Ines's receiver, the weakest of the group, held level",
            "contours": [
                {"burial": b, "reading_m": r, "lines_m": [_ring(b, r)]} for b in BURIALS for r in (10, 20)
            ],
            "audible": [{"burial": b, "lines_m": [_ring(b, 38)]} for b in BURIALS],
        },
        "flux_lines": [
            {"burial": "A", "searcher": "s1", "line_m": _flux_line("A", (11, 54)), "length_m": 14.2},
            {"burial": "B", "searcher": "s2", "line_m": _flux_line("B", (56, 40)), "length_m": 12.4},
        ],
        "overlap_fraction": 0.04,
        "swept_by": [{"searcher": "s1", "fraction": 0.29}, {"searcher": "s2", "fraction": 0.43}],
        "swept": _swept([ines[1][:78], bram[1][:160]], 10),
    }


def _approach(burial: str, audible: float, turn: float, near: float, side: float) -> dict[str, Any]:
    return {
        "burial": burial, "audible_s": audible, "audible_uncertainty_s": 4.0, "turn_s": turn,
        "turn_uncertainty_s": 5.0, "reading_3_m_s": near, "reading_3_m_uncertainty_s": 8.0,
        "side_distance_m": side, "speed_above_10_m_s": 1.1, "speed_below_10_m_s": 0.5,
    }  # fmt: skip


def large_run(people: int = 12, seconds: int = 3600) -> dict[str, Any]:
    """A run with many people and a long time, which the page must still replay smoothly."""
    document = invented_run()
    names = [
        "Ines",
        "Bram",
        "Yuki",
        "Tomas",
        "Adaeze",
        "Leif",
        "Noor",
        "Pia",
        "Inga",
        "Brita",
        "Yusuf",
        "Tove",
    ]
    searchers = []
    for k in range(people):
        rng = np.random.default_rng(k)
        times = np.linspace(0, seconds, 90)
        stops = [(float(t), *map(float, rng.uniform((5, 8), (55, 78)))) for t in times]
        t, xy = _walk(stops, k)
        cuts = np.sort(rng.uniform(0.05, 0.95, 4)) * seconds
        names_of = ("signal", "coarse", "fine", "probe", "dig")
        edges = [0.0, *cuts.tolist(), float(seconds)]
        phases = [
            _phase(None if n == "signal" else "AB"[k % 2], n, a, b, 5.0, 100.0)
            for n, a, b in zip(names_of, edges[:-1], edges[1:], strict=True)
        ]
        searchers.append({
            "id": f"s{k + 1}", "name": names[k % len(names)], "track": _track(f"s{k + 1}", t, xy),
            "readings": _readings(t, xy), "audible": [{"burial": "A", "seconds": 10.0}], "phases": phases,
            "idle": [],
        })  # fmt: skip
    document["searchers"] = searchers
    document["run"]["end_s"] = float(seconds)
    document["title"] = "Twelve for an hour"
    return document


if __name__ == "__main__":
    json.dump(large_run() if "--large" in sys.argv else invented_run(), sys.stdout)
