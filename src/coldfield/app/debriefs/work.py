"""Make a debrief in a worker process: plain values in, plain values out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from coldfield.app.debriefs.from_files import MadeDebrief, RunFiles, debrief
from coldfield.app.ground.on_record import lay
from coldfield.app.jobs.stages import Progress, Stages
from coldfield.debrief.findings.yardsticks import EarlierRun, Standard
from coldfield.drill.grid import Grid
from coldfield.drill.recorded import Recorded
from coldfield.drill.run import Split, Splits
from coldfield.errors import BadInput
from coldfield.files.drill_json import drill_from
from coldfield.files.track_file import read_track_file
from coldfield.message import Message

READING, CLEANING, REHEARSING, WORKING_OUT = 20, 15, 35, 30
"""The share of each stage in a debrief with rehearsals, per cent. Settings."""


def debrief_work(
    *,
    drill: Mapping[str, Any],
    tracks: Sequence[Mapping[str, Any]],
    splits: Sequence[Split],
    simulated: bool,
    shifts_s: Mapping[str, float] | None = None,
    standards: Sequence[Mapping[str, Any]] = (),
    earlier: Sequence[EarlierRun] = (),
    band_runs: int = 0,
    grid: Mapping[str, Any] | None = None,
    held_unix_s: float | None = None,
    diggers: Mapping[str, Sequence[str]] | None = None,
    progress: Progress,
) -> MadeDebrief:
    """Return what `coldfield debrief --json` prints for the same files, and faults.

    Parameters
    ----------
    drill : mapping
        The drill file, with its burials as actually hidden, where that is known.
    tracks : sequence of mapping
        Recorded files: `file` (a unique name), `content`, and `searcher` and `parts` as entered. If nothing
        was entered, a file named after a searcher's id or name belongs to that searcher.
    splits : sequence of Split
        In any order.
    simulated : bool
        The recordings are simulated.
    shifts_s : mapping, optional
        Clock shifts by file, or 'splits', s.
    standards : sequence of mapping
        Fields of `Standard`.
    earlier : sequence of EarlierRun
        Phases from earlier debriefs of the group.
    band_runs : int
        Rehearsals for the bands beside the phases; 0 leaves them out.
    grid : mapping, optional
        The drill's elevation grid: `file_name`, `crs`, `sha256`, `content`. If it does not cover the site
        (any more), that is a fault, and the snow surface is the drill's plane.
    held_unix_s : float, optional
        The time entered for the run, seconds since 1970 UTC.
    diggers : mapping, optional
        Burial -> the people assigned on a phone to dig there.
    progress : callable
        Called with the stages 'reading', 'cleaning', 'rehearsing' (if there are bands) and 'working out'.
    """
    rehearsing = {"rehearsing": REHEARSING} if band_runs > 0 else {}
    weights = {"reading": READING, "cleaning": CLEANING, **rehearsing, "working out": WORKING_OUT}
    stages = Stages(progress, weights)
    recorded: list[Recorded] = []
    faults: list[Message] = []
    for number, track in enumerate(tracks):
        stages.at("reading")(number, len(tracks))
        found, wrong = read_told_track(track)
        recorded += found
        faults += wrong
    rows = tuple(sorted(splits, key=_moment))
    read = drill_from({**drill})
    snow: Grid | None = None
    if grid is not None:
        try:
            snow = lay(grid, grid["content"], read.site)
        except BadInput as error:
            faults += error.placed()
    run = RunFiles(
        drill=read,
        recorded=tuple(recorded),
        splits=Splits(rows=rows),
        faults=tuple(faults),
        grid=snow,
        given=len(tracks),
        held_unix_s=held_unix_s,
        diggers=diggers or {},
    )
    stages.at("reading")(len(tracks), len(tracks))
    debriefed = debrief(
        run,
        shifts_s=shifts_s,
        simulated=simulated,
        band_runs=band_runs,
        standards=[Standard(**one) for one in standards],
        earlier=earlier,
        stages=stages,
    )
    return MadeDebrief(document=debriefed.document, faults=debriefed.faults)


def read_told_track(track: Mapping[str, Any]) -> tuple[list[Recorded], list[Message]]:
    """Return the tracks of a kept file that belong to somebody, and one line per fault."""
    found, faults = read_track_file(track["content"], track["file"])
    parts = track["parts"] or [track["searcher"]] * len(found)
    told = bool(track["parts"])
    recorded = [
        replace(one, searcher=who)
        for one, who in zip(found, [*parts, *[None] * len(found)], strict=False)
        if who is not None or not told
    ]
    return recorded, list(faults)


def _moment(row: Split) -> float:
    return row.time_unix_s if row.time_unix_s is not None else row.since_alarm_s or 0.0
