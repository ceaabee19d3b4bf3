"""Make the debrief of a run from its files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import coldfield
from coldfield.app.debriefs.about_splits import alarm_of_run, repeat_notes
from coldfield.app.debriefs.bands import rehearsed_bands
from coldfield.app.debriefs.beside_run import lines_for_weakest, planned_lanes, strip_width, survival_of
from coldfield.app.debriefs.ground_zone import zone_of
from coldfield.app.drills.files import load_drill, load_splits, read_bytes
from coldfield.app.ground.grid import load_grid
from coldfield.app.jobs.stages import Stages, Steps
from coldfield.coaching.exercises import told_to_group
from coldfield.debrief.clocks.align import align
from coldfield.debrief.clocks.keeper_clock import SPLITS
from coldfield.debrief.clocks.run_splits import named
from coldfield.debrief.composing import Beside, debrief_document
from coldfield.debrief.debriefing import Debriefing, debrief_run
from coldfield.debrief.document import DebriefDocument
from coldfield.debrief.findings.yardsticks import EarlierRun, Standard, earlier_phases
from coldfield.debrief.snow import GridSnow, Snow
from coldfield.debrief.tracks.anchors import lay_on_anchors
from coldfield.debrief.tracks.by_person import tracks_by_person
from coldfield.debrief.tracks.track import Track, clean, screen
from coldfield.drill.drill import Drill
from coldfield.drill.grid import Grid
from coldfield.drill.recorded import Recorded
from coldfield.drill.run import Splits
from coldfield.drill.terrain import Plane
from coldfield.errors import BadInput
from coldfield.files.observed import with_observations
from coldfield.files.track_file import MOST_BYTES, read_track_file
from coldfield.message import Message, message
from coldfield.rescue import is_this_model

FASTEST_M_S = {"on foot": 12.0, "on snowshoe": 12.0, "on ski": 25.0}
"""Points that imply a higher speed are outliers. Settings, deliberately generous."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunFiles:
    """The files of a run: its drill, recordings, splits, and the faults of recordings that were left out.

    `given` counts the recordings given, including unreadable ones. `held_unix_s` is the time entered for the
    run, used for the alarm if nothing else gives it. `diggers` are the people assigned to a burial on a
    phone.
    """

    drill: Drill
    recorded: tuple[Recorded, ...]
    splits: Splits
    faults: tuple[Message, ...] = ()
    grid: Grid | None = None
    given: int = 0
    held_unix_s: float | None = None
    diggers: Mapping[str, Sequence[str]] = field(default_factory=dict)


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
    """Read the files of a run.

    Parameters
    ----------
    drill : path
        The drill file.
    tracks : sequence of path
        GPX, FIT, CSV or zip; an unreadable file is reported among the faults.
    splits : path, optional
        CSV of splits and observations.
    as_buried : path, optional
        A drill file whose burials, as actually hidden and dug out, replace the planned ones.
    elevation : path, optional
        An elevation grid of the site; without it the snow surface is the drill's plane.
    crs : str, optional
        The grid's coordinate system, if the file does not name it.
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
    faults: list[Message] = []
    for path in tracks:
        try:
            data = read_bytes(path, most_bytes=MOST_BYTES + 1)
        except BadInput as error:
            faults += error.placed()
            continue
        # A name that is not valid text is still shown.
        name = Path(path).name.encode("utf-8", "replace").decode()
        found, wrong = read_track_file(data, name)
        recorded += found
        faults += wrong
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
    """A debrief: the run, its document, and the faults of what was left out."""

    debriefing: Debriefing
    document: DebriefDocument
    faults: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeDebrief:
    """What a worker returns: the debrief's document, and the faults of what was left out."""

    document: DebriefDocument
    faults: tuple[Message, ...]


def debrief(
    run: RunFiles,
    *,
    shifts_s: Mapping[str, float] | None = None,
    simulated: bool = False,
    band_runs: int = 0,
    standards: Sequence[Standard] = (),
    earlier: Sequence[EarlierRun] = (),
    stages: Stages | None = None,
) -> Debriefed:
    """Return the debrief of a run. Without recordings, it is made from the splits alone.

    Parameters
    ----------
    run : RunFiles
        The files of the run.
    shifts_s : mapping, optional
        Clock shifts by file name, or 'splits', s.
    simulated : bool
        The recordings are simulated, which the document says. A recording marked as simulated has the same
        effect.
    band_runs : int
        Number of rehearsals of the drill as buried, for the bands beside each phase; 0 leaves them out.
    standards : sequence of Standard
        Times that the instructor expects of people.
    earlier : sequence of EarlierRun
        Phases from the group's earlier debriefs.
    stages : Stages, optional
        Called with the stages 'cleaning', 'rehearsing' (if there are bands) and 'working out'.

    Raises
    ------
    BadInput
        If none of the given recordings is usable, or neither a recording nor a split is given; one line per
        fault.
    """
    drill = run.drill
    splits, unknown = named(
        with_observations(run.splits),
        searchers=[(s.id, s.name) for s in drill.searchers],
        burials=[b.id for b in drill.burials],
    )
    tracks, faults = _clean_tracks(run, _steps(stages, "cleaning"))
    faults = [*run.faults, *faults, *(fault.at(SPLITS) for fault in unknown)]
    laid = lay_on_anchors(tracks, drill.site.anchors)
    aligned = alarm_of_run(align(laid.tracks, splits, drill, shifts_s=shifts_s), run.held_unix_s)
    faults += aligned.faults
    if not aligned.tracks and (run.given or run.recorded or not splits.rows):
        raise BadInput(faults or [message("fault.nothing_to_debrief")])
    width, notes = strip_width(drill)
    notes = notes if aligned.tracks else []
    if not aligned.tracks and not aligned.splits.rows:
        band_runs = 0  # no times were taken
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
        diggers=run.diggers,
    )
    lines, hearing_searcher = lines_for_weakest(debriefing)
    lanes, lane_notes = planned_lanes(debriefing)
    alike = [one for one in earlier if is_this_model(one.model_version)]
    notes += [*(laid.notes if aligned.tracks else ()), *_of_another_model(len(earlier) - len(alike))]
    beside = Beside(
        hearing=lines,
        hearing_searcher=hearing_searcher,
        lanes=lanes,
        laid=laid if aligned.tracks else None,
        bands=bands,
        usual=usual,
        standards=standards,
        earlier=earlier_phases(alike),
        survival=survival_of(debriefing),
        notes=[*repeat_notes(splits), *notes, *band_notes, *faults, *lane_notes],
        files=_files(run),
        zone=zone_of(drill.site),
    )
    document = debrief_document(
        debriefing, beside, made_by=f"coldfield {coldfield.__version__}", simulated=_made_up(run, simulated)
    )
    document = replace(document, findings=told_to_group(document.findings))
    working_out(1, 1)
    return Debriefed(debriefing=debriefing, document=document, faults=tuple(faults))


def _of_another_model(count: int) -> list[Message]:
    """Say that earlier debriefs are not compared, because another model separated their phases."""
    return [message("note.older_debriefs", n=count)] if count else []


def _steps(stages: Stages | None, name: str) -> Steps:
    return (lambda _done, _total: None) if stages is None else stages.at(name)


def _files(run: RunFiles) -> list[str]:
    """Return the names of a run's files, including unreadable ones, each once."""
    unread = (fault.place[0] for fault in run.faults if fault.place)
    names = [*(one.file for one in run.recorded), *(name for name in unread if isinstance(name, str))]
    return list(dict.fromkeys(names))


def _snow(run: RunFiles) -> Snow:
    return GridSnow(grid=run.grid) if run.grid is not None else Plane.of(run.drill.site)


def _made_up(run: RunFiles, told: bool) -> bool:
    return told or any(one.simulated for one in run.recorded)


def _clean_tracks(run: RunFiles, steps: Steps) -> tuple[dict[str, Track], list[Message]]:
    usable: list[Recorded] = []
    unusable: list[Message] = []
    for one in run.recorded:
        try:
            screen(one, run.drill.site)
            usable.append(one)
        except BadInput as error:
            unusable += error.placed()
    people, faults = tracks_by_person(usable, run.drill.searchers)
    faults = unusable + faults
    tracks = {}
    fastest = FASTEST_M_S[run.drill.conditions.travel]
    for number, (who, recorded) in enumerate(people.items()):
        steps(number, len(people))
        try:
            tracks[who] = clean(recorded, run.drill.site, fastest_m_s=fastest, terrain=_snow(run))
        except BadInput as error:
            faults += error.placed()
    return tracks, faults
