"""The setup sheet and the lane card of a drill, as a PDF or as a page for the phone."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Literal
from uuid import uuid4

from coldfield.app.day.clock import carried_run
from coldfield.app.drills.files import load_drill, write_whole
from coldfield.app.ground.pictures import picture_in_file
from coldfield.app.strips.lanes import lanes_for
from coldfield.drill.cautions import LIMITS
from coldfield.drill.drill import Drill
from coldfield.drill.frame import SiteFrame
from coldfield.drill.grid import Grid
from coldfield.errors import BadInput, OutOfModel
from coldfield.files.carried_picture import Under
from coldfield.files.run_code import write_run_code
from coldfield.message import message
from coldfield.paper import blocks
from coldfield.paper.lane_card import card_blocks
from coldfield.paper.phone_page import phone_page
from coldfield.paper.press import Block, Paper, press
from coldfield.paper.setup_sheet import PACE_M, refuse, setup_blocks
from coldfield.paper.under_plan import PAPER_BYTES, PHONE_BYTES
from coldfield.words import say

Kind = Literal["pdf", "html"]


def setup_sheet(
    drill: Drill,
    *,
    kind: Kind = "pdf",
    paper: Paper = "a4",
    pace_m: float = PACE_M,
    run_id: str | None = None,
    drill_id: str | None = None,
    grid: Grid | None = None,
    under: Under | None = None,
) -> bytes:
    """Return setup sheet and lane card of a drill.

    Parameters
    ----------
    kind : {'pdf', 'html'}
        PDF for paper, or a page for the phone.
    pace_m : float
        Pace length of the person who hides the sets, m.
    run_id, drill_id : str, optional
        The run that the printed code starts (default: a new one), and its drill on record.
    under : Under, optional
        The picture of the ground under the plan.

    Raises
    ------
    BadInput
        If the drill has no map position, no anchor or no burial.
    """
    SiteFrame(drill.site.origin).refuse_nowhere()
    refuse(drill, pace_m)
    run = carried_run(drill, run_id=run_id or str(uuid4()), drill_id=drill_id)
    parts = setup_blocks(
        drill,
        codes=write_run_code(run),
        paper=paper,
        pace_m=pace_m,
        under=under,
        most_picture_bytes=PHONE_BYTES if kind == "html" else PAPER_BYTES,
    )
    parts += _card(drill, paper=paper, pace_m=pace_m, grid=grid)
    if kind == "html":
        return phone_page(parts, title=drill.name).encode()
    return press(parts, title=drill.name, paper=paper, foot=LIMITS[0])


def _card(drill: Drill, *, paper: Paper, pace_m: float, grid: Grid | None) -> list[Block]:
    """Return the lane card or, if no lanes can be planned, the reason."""
    try:
        plan = lanes_for(
            drill, sharing="line abreast" if len(drill.searchers) > 1 else "least time", grid=grid
        )
    except (BadInput, OutOfModel) as error:
        return [blocks.text(say(message("sheet.no_lanes", why=error.message)))]
    return card_blocks(drill, plan, paper=paper, pace_m=pace_m)


def write_setup_sheet(
    drill: Path | str,
    out: Path | str,
    *,
    paper: Paper = "a4",
    pace_m: float = PACE_M,
    picture: Path | str | None = None,
    known: Sequence[str] = (),
) -> None:
    """Write the sheet of a drill file as a PDF, or as a page if the name ends in .html.

    Parameters
    ----------
    picture, known : path and sequence of str, optional
        The picture of the ground under the plan, and what places it; see `picture_in_file`.

    Raises
    ------
    BadInput
        As `setup_sheet`; also if the file's name has another extension, or it cannot be written.
    """
    kinds: dict[str, Kind] = {".pdf": "pdf", ".html": "html"}
    kind = kinds.get(Path(out).suffix.lower())
    if kind is None:
        raise BadInput(message("fault.sheet_name"), str(out))
    loaded = load_drill(drill, on_earth=True)
    under = picture_in_file(picture, known, loaded.site)
    try:
        made = setup_sheet(loaded, kind=kind, paper=paper, pace_m=pace_m, under=under)
    except BadInput as error:
        raise BadInput(error.faults, error.source or str(drill)) from None
    write_whole(out, made)
