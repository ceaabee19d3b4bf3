"""From files of a run to its debrief."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import Any

import coldfield
from coldfield.app.debriefs.bands import rehearsed_bands
from coldfield.app.drills.files import load_drill, load_splits, read_bytes, write_whole
from coldfield.app.ground.grid import load_grid
from coldfield.app.jobs.stages import Stages, Steps
from coldfield.debrief.clocks.align import FROM_SPLIT, align
from coldfield.debrief.clocks.run_splits import named
from coldfield.debrief.debriefing import Debriefing, debrief_run
from coldfield.debrief.document import debrief_document
from coldfield.debrief.findings.yardsticks import Standard, earlier_runs
from coldfield.debrief.hearing.lines import hearing_lines, weakest
from coldfield.debrief.snow import GridSnow, Snow
from coldfield.debrief.tracks.anchors import lay_on_anchors
from coldfield.debrief.tracks.by_person import tracks_by_person
from coldfield.debrief.tracks.track import Track, clean, screen
from coldfield.drill.drill import Drill
from coldfield.drill.frame import SiteFrame
from coldfield.drill.grid import Grid
from coldfield.drill.recorded import Recorded
from coldfield.drill.run import Splits
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput, ColdfieldError, OutOfModel
from coldfield.files.gpx import write_gpx
from coldfield.files.phases_csv import phases_csv
from coldfield.files.track_file import MOST_BYTES, read_track_file
from coldfield.rescue import is_this_model
from coldfield.words import say

FASTEST_M_S = {"on foot": 12.0, "on snowshoe": 12.0, "on ski": 25.0}
"""Points that would need more speed are outliers. Settings, generous on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunFiles:
    """What a run left: its drill, recordings, splits, and the faults of recordings left out.

    `given` is how many recordings were given, those that could not be read too.
    """

    drill: Drill
    recorded: tuple[Recorded, ...]
    splits: Splits
    faults: tuple[str, ...] = ()
    grid: Grid | None = None
    given: int = 0


def load_run(
    drill: Path | str,
    tracks: Sequence[Path | str],
    *,
    splits: Path | str | None = None,
    as_buried: Path | str | None = None,
    elevation: Path | str | None = None,
    crs: str | None = None,
    on_earth: bool = False,
) -> RunFiles:
    """Return the files of a run, read.

    Parameters
    ----------
    drill : path
        The drill file.
    tracks : sequence of path
        GPX, FIT, CSV or zip; what cannot be read becomes a line among the faults.
    splits : path, optional
        CSV of splits and observations.
    as_buried : path, optional
        A drill file whose burials replace the plan's: as they were really hidden and dug out.
    elevation : path, optional
        An elevation grid under the site; without it the snow is the drill's plane.
    crs : str, optional
        Its coordinate system, where the file does not tell.
    on_earth : bool
        As in `load_drill`.

    Raises
    ------
    BadInput
        If the drill, the splits, the as-buried record or the elevation grid cannot be used.
    """
    loaded = load_drill(drill, on_earth=on_earth)
    if as_buried is not None:
        loaded = replace(loaded, burials=load_drill(as_buried).burials)
    rows = load_splits(splits) if splits is not None else Splits()
    grid = load_grid(elevation, loaded, crs=crs) if elevation is not None else None
    recorded: list[Recorded] = []
    faults: list[str] = []
    for path in tracks:
        try:
            data = read_bytes(path, most_bytes=MOST_BYTES + 1)
        except BadInput as error:
            faults += error.lines()
            continue
        found, wrong = read_track_file(data, Path(path).name)
        recorded += found
        faults += [say(fault) for fault in wrong]
    return RunFiles(
        drill=loaded,
        recorded=tuple(recorded),
        splits=rows,
        faults=tuple(faults),
        grid=grid,
        given=len(tracks),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Debriefed:
    """A debrief: the run looked at, the document of it, and the faults of what was left out."""

    debriefing: Debriefing
    document: dict[str, Any]
    faults: tuple[str, ...]


def debrief(
    run: RunFiles,
    *,
    shifts_s: Mapping[str, float] | None = None,
    simulated: bool = False,
    band_runs: int = 0,
    standards: Sequence[Standard] = (),
    earlier: Sequence[Mapping[str, Any]] = (),
    stages: Stages | None = None,
) -> Debriefed:
    """Return the debrief of a run. Where no recording was given, it is made from the splits alone.

    Parameters
    ----------
    run : RunFiles
        As read.
    shifts_s : mapping, optional
        Clock shifts by file name, or 'splits', s.
    simulated : bool
        The recordings were made in the computer; said plainly in the document. So it is where a
        recording carries the mark of one that was.
    band_runs : int
        Rehearse the drill as buried so many times, for the bands beside each phase; 0 leaves them out.
    standards : sequence of Standard
        Times the instructor holds people to.
    earlier : sequence of mapping
        Debrief documents of the group's earlier runs.
    stages : Stages, optional
        Told the stages 'cleaning', 'rehearsing' (where there are bands) and 'working out'.

    Raises
    ------
    BadInput
        If recordings were given and none is left, or neither a recording nor a split is given; one line
        per fault.
    """
    drill = run.drill
    splits, unknown = named(
        run.splits,
        searchers=[(s.id, s.name) for s in drill.searchers],
        burials=[b.id for b in drill.burials],
    )
    tracks, faults = _clean_tracks(run, _steps(stages, "cleaning"))
    faults = [*run.faults, *faults, *(f"splits: {line}" for line in unknown)]
    laid = lay_on_anchors(tracks, drill.site.anchors)
    aligned = align(laid.tracks, splits, drill, shifts_s=shifts_s)
    faults += aligned.faults
    if not aligned.tracks and (run.given or run.recorded or not splits.rows):
        raise BadInput(faults or ["neither tracks nor splits given; nothing to debrief"])
    width, notes = _strip_width(drill)
    notes = notes if aligned.tracks else []
    rehearsing = _steps(stages if band_runs > 0 else None, "rehearsing")
    bands, usual, band_notes = rehearsed_bands(drill, width, band_runs, rehearsing)
    working_out = _steps(stages, "working out")
    working_out(0, 1)
    debriefing = debrief_run(
        drill,
        aligned,
        strip_width_m=width,
        bands=bands,
        standards=standards,
        terrain=_snow(run),
    )
    alike = [document for document in earlier if is_this_model(document.get("model_version"))]
    notes += [*(laid.notes if aligned.tracks else ()), *_of_another_model(len(earlier) - len(alike))]
    extra = {
        "laid": laid,
        "usual": usual,
        "bands": bands,
        "standards": standards,
        "earlier": earlier_runs(alike),
        "files": _files(run),
    }
    made_up = _made_up(run, simulated)
    document = _document(debriefing, simulated=made_up, notes=[*notes, *band_notes, *faults], extra=extra)
    working_out(1, 1)
    return Debriefed(debriefing=debriefing, document=document, faults=tuple(faults))


def _of_another_model(count: int) -> list[str]:
    """Say that earlier debriefs are not set beside: their phases were told apart by another model."""
    if not count:
        return []
    what = "1 earlier debrief was" if count == 1 else f"{count} earlier debriefs were"
    return [f"{what} worked out with an older model and not set beside this one; debrief those runs again"]


def _steps(stages: Stages | None, name: str) -> Steps:
    return (lambda _done, _total: None) if stages is None else stages.at(name)


def _files(run: RunFiles) -> list[str]:
    """Return the names of the files of a run, those that could not be read too, each once."""
    unread = (fault.partition(": ")[0] for fault in run.faults if ": " in fault)
    return list(dict.fromkeys([*(one.file for one in run.recorded), *unread]))


def _snow(run: RunFiles) -> Snow:
    return GridSnow(grid=run.grid) if run.grid is not None else Plane.of(run.drill.site)


def _made_up(run: RunFiles, told: bool) -> bool:
    return told or any(one.simulated for one in run.recorded)


def _clean_tracks(run: RunFiles, steps: Steps) -> tuple[dict[str, Track], list[str]]:
    usable: list[Recorded] = []
    unusable: list[str] = []
    for one in run.recorded:
        try:
            screen(one, run.drill.site)
            usable.append(one)
        except BadInput as error:
            unusable += error.lines()
    people, faults = tracks_by_person(usable, run.drill.searchers)
    faults = unusable + faults
    tracks = {}
    fastest = FASTEST_M_S[run.drill.conditions.travel]
    for number, (who, recorded) in enumerate(people.items()):
        steps(number, len(people))
        try:
            tracks[who] = clean(recorded, run.drill.site, fastest_m_s=fastest, terrain=_snow(run))
        except BadInput as error:
            faults += error.lines()
    return tracks, faults


def _strip_width(drill: Drill) -> tuple[float | None, list[str]]:
    if drill.conditions.strip_width_m is not None:
        return drill.conditions.strip_width_m, []
    try:
        width = import_module("coldfield.search.width.strip_width").group_edge_width_m(drill)
    except OutOfModel as error:
        return None, [f"no strip width: {error}; swept ground is left out"]
    return float(width), [f"strip width: the group's edge width today, {width:.0f} m"]


def _document(
    debriefing: Debriefing, *, simulated: bool, notes: Sequence[str], extra: Mapping[str, Any]
) -> dict[str, Any]:
    drill = debriefing.drill
    if not debriefing.aligned.tracks:
        return debrief_document(
            debriefing,
            made_by=f"coldfield {coldfield.__version__}",
            simulated=simulated,
            survival=survival_of(debriefing),
            notes=notes,
            **extra,
        )
    day = drill.conditions.noise_rise_db
    receivers = {s.id: s.receiver for s in drill.searchers}
    who = weakest(receivers, day)
    lines = (
        hearing_lines(drill.site, debriefing.sources, receivers[who], debriefing.terrain, noise_rise_db=day)
        if who is not None
        else ()
    )
    lanes, lane_notes = _lanes(debriefing)
    return debrief_document(
        debriefing,
        made_by=f"coldfield {coldfield.__version__}",
        simulated=simulated,
        hearing=lines,
        hearing_searcher=who,
        lanes=lanes,
        survival=survival_of(debriefing),
        notes=[*notes, *lane_notes],
        **extra,
    )


def _lanes(debriefing: Debriefing) -> tuple[list[tuple[str, Any]], list[str]]:
    """The lanes planned for those who have a track."""
    from coldfield.search.lanes.plan import plan_lanes

    drill, width, terrain = debriefing.drill, debriefing.strip_width_m, debriefing.terrain
    if width is None or not drill.searchers:
        return [], []
    try:
        plan = plan_lanes(
            drill.site,
            drill.searchers,
            strip_width_m=width,
            terrain=terrain.grid if isinstance(terrain, GridSnow) else terrain,
            travel=drill.conditions.travel,
        )
    except ColdfieldError as error:
        return [], [f"no planned lanes: {error}"]
    return [(lane.searcher, lane.line_m) for lane in plan.lanes], []


def survival_of(debriefing: Debriefing) -> dict[str, Any]:
    """Return, for each burial whose airway was freed, survival by each published curve at that time."""
    from coldfield.survival.curves import CURVES

    before = debriefing.drill.conditions.burial_to_alarm_s
    burials = []
    for burial in debriefing.drill.burials:
        clear = debriefing.aligned.splits.first("airway_clear", burial=burial.id)
        if clear is None or clear + before < 0 or debriefing.aligned.zero == FROM_SPLIT:
            continue
        values = {name: float(curve.survival(clear + before)) for name, curve in CURVES.items()}
        burials.append(
            {
                "burial": burial.id,
                "curves": [{"name": name, "at_airway": value} for name, value in values.items()],
                "low": min(values.values()),
                "high": max(values.values()),
            }
        )
    return {
        "burial_to_alarm_s": before,
        "burials": burials,
        "note": "published curves at the time under the snow when the airway was free; people differ, and no "
        "curve is a forecast for one of them",
    }


def write_debrief(
    debriefed: Debriefed,
    *,
    html: Path | str | None = None,
    language: str = "en",
    gpx: Path | str | None = None,
    csv: Path | str | None = None,
) -> None:
    """Write a debrief's files, each whole or not at all.

    Parameters
    ----------
    debriefed : Debriefed
        The debrief.
    html : path, optional
        One self-contained page.
    language : str
        The language of its words.
    gpx : path, optional
        A folder, made where it is missing, for one GPX of the cleaned track per person.
    csv : path, optional
        The phases as a table.

    Raises
    ------
    BadInput
        If a file cannot be written, or the tracks of a run without any, or those of a drill that lies
        nowhere on Earth yet, should be.
    """
    if gpx is not None and not debriefed.debriefing.aligned.tracks:
        raise BadInput("no track was recorded, so there is none to write", str(gpx))
    if gpx is not None:
        SiteFrame(debriefed.debriefing.drill.site.origin).refuse_nowhere()
    if csv is not None:
        write_whole(csv, phases_csv(debriefed.document).encode())
    if gpx is not None:
        _write_gpx(debriefed.debriefing, Path(gpx), simulated=debriefed.document["simulated"])
    if html is not None:
        page = import_module("coldfield.files.debrief_html").debrief_html(
            debriefed.document, language=language
        )
        write_whole(html, page.encode())


def _write_gpx(debriefing: Debriefing, folder: Path, *, simulated: bool) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(f"cannot be made a folder: {error.strerror}", str(folder)) from None
    frame = SiteFrame(debriefing.drill.site.origin)
    for searcher in debriefing.drill.searchers:
        track = debriefing.aligned.tracks.get(searcher.id)
        if track is not None:
            pieces = [(p.unix_s, *frame.on_earth(p.position_m)) for p in track.pieces]
            name = "".join(c if c.isalnum() or c in "-_" else "_" for c in searcher.id)
            text = write_gpx([(searcher.name, pieces)], simulated=simulated)
            write_whole(folder / f"{name}.gpx", text.encode())


def document_text(document: Mapping[str, Any]) -> str:
    """Return the document as one line of JSON; a number that is not finite would be an error."""
    return json.dumps(document, allow_nan=False, separators=(",", ":"))
