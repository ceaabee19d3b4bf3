"""What worker processes do: plain values in, plain values out."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from coldfield.app.debrief import RunFiles, debrief
from coldfield.app.rehearse import rehearsal_document, rehearse_drill
from coldfield.debrief.recorded import Recorded
from coldfield.drill.run import Split, Splits
from coldfield.files.drill_json import read_drill
from coldfield.files.track_file import read_track_file

Progress = Callable[[int, int], None]


def rehearse_work(
    *,
    drill: Mapping[str, Any],
    runs: int,
    seed: int,
    strip_width_m: float | None = None,
    progress: Progress,
) -> dict[str, Any]:
    """Return what `coldfield rehearse --json` prints for the same drill, runs and seed."""
    rehearsed = rehearse_drill(
        read_drill(json.dumps(drill)),
        runs=runs,
        seed=seed,
        strip_width_m=strip_width_m,
        progress=progress,
    )
    return rehearsal_document(rehearsed)


def debrief_work(
    *,
    drill: Mapping[str, Any],
    tracks: Sequence[tuple[str, bytes]],
    splits: Sequence[Mapping[str, Any]],
    simulated: bool,
    progress: Progress,
) -> dict[str, Any]:
    """Return `document`, what `coldfield debrief --json` prints for the same files, and `faults`.

    Parameters
    ----------
    drill : mapping
        The drill file, with its burials as they were really hidden where that is known.
    tracks : sequence of (name, bytes)
        Recorded files; a name that is a searcher's id or name tells whose it is.
    splits : sequence of mapping
        Fields of `Split`.
    simulated : bool
        The recordings were made in the computer.
    progress : callable
        Told the files read.
    """
    recorded: list[Recorded] = []
    faults: list[str] = []
    for number, (name, data) in enumerate(tracks):
        progress(number, len(tracks) + 1)
        found, wrong = read_track_file(data, name)
        recorded += found
        faults += wrong
    rows = tuple(sorted((Split(**row) for row in splits), key=_moment))
    run = RunFiles(
        drill=read_drill(json.dumps(drill)),
        recorded=tuple(recorded),
        splits=Splits(rows=rows),
        faults=tuple(faults),
    )
    progress(len(tracks), len(tracks) + 1)
    debriefed = debrief(run, simulated=simulated)
    return {"document": debriefed.document, "faults": list(debriefed.faults)}


def _moment(row: Split) -> float:
    return row.time_unix_s if row.time_unix_s is not None else row.since_alarm_s or 0.0
