"""A debrief as files: one self-contained page, cleaned tracks as GPX, the phases as CSV."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from coldfield.app.debriefs.from_files import Debriefed
from coldfield.app.drills.files import write_whole
from coldfield.app.ground.pictures import picture_in_file
from coldfield.debrief.debriefing import Debriefing
from coldfield.drill.frame import SiteFrame
from coldfield.errors import BadInput
from coldfield.files.gpx import write_gpx
from coldfield.files.phases_csv import phases_csv
from coldfield.message import message
from coldfield.words import spoken_now


def write_debrief(
    debriefed: Debriefed,
    *,
    html: Path | str | None = None,
    gpx: Path | str | None = None,
    csv: Path | str | None = None,
    pdf: Path | str | None = None,
    person: str | None = None,
    picture: Path | str | None = None,
    known: Sequence[str] = (),
) -> None:
    """Write a debrief's files, each whole or not at all.

    Parameters
    ----------
    debriefed : Debriefed
        The debrief.
    html : path, optional
        One self-contained page, in the current language.
    gpx : path, optional
        A folder, created if missing, for one GPX of the cleaned track per person.
    csv : path, optional
        The phases as a table.
    pdf : path, optional
        A hand-out in the current language: of the group, or of one `person` by id or name.
    picture, known : path and sequence of str, optional
        The picture of the ground under the plan of the page, and what places it; see `picture_in_file`.

    Raises
    ------
    BadInput
        If a file cannot be written, or if tracks are asked for that do not exist or whose drill has no map
        position yet.
    """
    under = picture_in_file(picture, known, debriefed.debriefing.drill.site)
    if gpx is not None and not debriefed.debriefing.aligned.tracks:
        raise BadInput(message("fault.no_track_to_write"), str(gpx))
    if gpx is not None:
        SiteFrame(debriefed.debriefing.drill.site.origin).refuse_nowhere()
    if csv is not None:
        write_whole(csv, phases_csv(debriefed.document).encode())
    if gpx is not None:
        _write_gpx(debriefed.debriefing, Path(gpx), simulated=debriefed.document.simulated)
    if pdf is not None:
        paper = import_module("coldfield.paper.debrief_sheet")
        write_whole(pdf, paper.debrief_pdf(debriefed.document, person=person))
    if html is not None:
        page = import_module("coldfield.files.debrief_html").debrief_html(
            debriefed.document, language=spoken_now(), under=under
        )
        write_whole(html, page.encode())


def _write_gpx(debriefing: Debriefing, folder: Path, *, simulated: bool) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(message("fault.no_folder", why=str(error.strerror)), str(folder)) from None
    frame = SiteFrame(debriefing.drill.site.origin)
    for searcher in debriefing.drill.searchers:
        track = debriefing.aligned.tracks.get(searcher.id)
        if track is not None:
            pieces = [(p.unix_s, *frame.on_earth(p.position_m)) for p in track.pieces]
            name = "".join(c if c.isalnum() or c in "-_" else "_" for c in searcher.id)
            text = write_gpx([(searcher.name, pieces)], simulated=simulated)
            write_whole(folder / f"{name}.gpx", text.encode())
