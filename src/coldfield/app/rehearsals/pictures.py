"""Write the pictures of a rehearsal to files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from coldfield.app.drills.picture_files import write_picture
from coldfield.app.rehearsals.rehearse import Rehearsed
from coldfield.drill import Drill
from coldfield.errors import OutOfModel
from coldfield.message import message
from coldfield.rescue.anywhere import Anywhere
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.outcome import telling_runs
from coldfield.rescue.played import Played
from coldfield.rescue.player.play import play
from coldfield.rescue.worth import Worth

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def write_rehearsal_chart(rehearsed: Rehearsed, path: Path | str) -> None:
    """Write phases against survival and minutes to the airway, .svg or .png; raises as `write_picture`."""

    def draw() -> Figure:
        from coldfield.pictures.rehearsal_charts import rehearsal_chart

        return rehearsal_chart(
            rehearsed.rehearsal, unsure=rehearsed.unsure, horizon_s=rehearsed.settings.horizon_s
        )

    write_picture(path, draw)


def write_worth_chart(worth: Sequence[Worth], path: Path | str) -> None:
    """Write what helps most as bars, .svg or .png; raises as `write_picture`."""

    def draw() -> Figure:
        from coldfield.pictures.rehearsal_charts import worth_chart

        return worth_chart(worth)

    write_picture(path, draw)


def write_traces_chart(rehearsed: Rehearsed, path: Path | str) -> None:
    """Write the walked lines of a fast, a median, a slow and a failed run; raises as `write_picture`."""

    def draw() -> Figure:
        from coldfield.pictures.rehearsal_charts import traces_chart

        return traces_chart(rehearsed.drill, played_again(rehearsed))

    write_picture(path, draw)


def played_again(rehearsed: Rehearsed) -> dict[str, tuple[Drill, Played]]:
    """Return a fast, a median, a slow and a failed run with everybody's trace, as far as they exist.

    The plain-Python program replays them from their keys: the same events, but with lines.

    Raises
    ------
    OutOfModel
        If no run found everybody and none failed, which cannot happen.
    """
    runs = telling_runs(rehearsed.rehearsal)
    if not runs:
        raise OutOfModel(message("fault.no_run_to_draw"))
    ground = Anywhere(rehearsed.drill.site) if rehearsed.anywhere else None
    found = {}
    for words, run in runs.items():
        made, seed = rehearsed.drill, rehearsed.rehearsal.seed
        if ground is not None:
            made = ground.drill(made, seed=seed, run=run)
        found[words] = (
            made,
            play(
                made,
                rehearsed.lanes or NoLanes(),
                seed=seed,
                run=run,
                second=rehearsed.second,
                settings=rehearsed.settings,
            ),
        )
    return found
