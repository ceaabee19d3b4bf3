"""What the phone carries into the snow: a run prepared from a drill, and the clock's page."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from math import degrees
from pathlib import Path

import numpy as np

from coldfield.app.drills.files import write_whole
from coldfield.drill.drill import Drill
from coldfield.errors import Refused
from coldfield.files.carried_picture import ON_A_PHONE, PhonePicture, Under, carried
from coldfield.files.clock_page import clock_html, installable_files
from coldfield.files.day_model import CarriedBurial, CarriedCurve, CarriedPerson, RunLine
from coldfield.files.drill_model import AnchorPart
from coldfield.message import message
from coldfield.survival.curves import DEFAULT

CURVE_MINUTES = 60
"""The end of a survival curve on the phone, min under the snow. Setting."""


def carried_run(
    drill: Drill,
    *,
    run_id: str,
    name: str = "",
    drill_id: str | None = None,
    drill_version: int | None = None,
    agreed_word: str = "",
    emergency_number: str = "",
    own_splits: Sequence[str] = (),
    own_cautions: Sequence[str] = (),
    survival: bool = False,
    under: Under | None = None,
) -> RunLine:
    """Return a run of a drill in the form for the phone.

    Parameters
    ----------
    drill : Drill
        What is buried where, and who searches.
    run_id : str
        The run's id, which is the same on every phone that times the run.
    name : str
        The name of the run; by default the drill's name.
    drill_id, drill_version : str, int, optional
        The recorded drill that the run belongs to.
    agreed_word, emergency_number : str
        Shown after 'Stop: real emergency'.
    own_splits, own_cautions : sequence of str
        Splits and cautions added by the instructor.
    survival : bool
        Whether the survival curve can be switched on at the clock.
    under : Under, optional
        The picture of the ground, cut to the ground and made no larger than `ON_A_PHONE`.
    """
    picture = carried(under, drill.site.boundary_m, ON_A_PHONE) if under is not None else None
    return RunLine(
        id=run_id,
        name=(name or drill.name)[:200],
        prepared=True,
        drill_id=drill_id,
        drill_version=drill_version,
        drill_name=drill.name[:200],
        burials=[
            CarriedBurial(
                id=one.id,
                position_m=list(one.position_m),
                depth_m=one.depth_m,
                azimuth_deg=round(degrees(one.antenna.azimuth_rad), 6),
                tilt_deg=round(degrees(one.antenna.tilt_rad), 6),
                has_set=one.transmitter is not None,
                set=one.set_label,
            )
            for one in drill.burials
        ],
        anchors=[AnchorPart(name=one.name, position_m=list(one.position_m)) for one in drill.site.anchors],
        boundary_m=[list(corner) for corner in drill.site.boundary_m],
        entry_m=list(drill.site.entry_m),
        searchers=[CarriedPerson(id=one.id, name=one.name) for one in drill.searchers],
        own_splits=list(own_splits),
        agreed_word=agreed_word,
        emergency_number=emergency_number,
        own_cautions=list(own_cautions),
        curve=_curve(drill.conditions.burial_to_alarm_s) if survival else None,
        picture=None if picture is None else PhonePicture(**picture.model_dump()),
    )


def write_clock(out: Path | str) -> list[Path]:
    """Write the installable clock into a folder, without any run; return what was written.

    Raises
    ------
    Refused
        If the folder cannot be made or written to.
    """
    from coldfield.pictures.clock_icon import icon_png, icon_svg

    pngs = {size: icon_png(size) for size in (192, 512)}
    return _write(Path(out), installable_files(pngs, icon_svg()))


def write_run(run: RunLine, out: Path | str) -> list[Path]:
    """Write a run as one page into its own folder; return what was written.

    Raises
    ------
    Refused
        If the folder cannot be made or written to.
    """
    return _write(Path(out) / folder_name(run.name), {"run.html": clock_html(run=run).encode()})


def folder_name(name: str) -> str:
    """Return a name as a folder name: ASCII letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return "run-" + (re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "of-the-day")


def _write(folder: Path, files: dict[str, bytes]) -> list[Path]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Refused(message("fault.no_folder", why=str(error.strerror)).at(str(folder))) from None
    for name, data in files.items():
        write_whole(folder / name, data)
    return [folder / name for name in files]


def _curve(burial_to_alarm_s: float) -> CarriedCurve:
    minutes = np.arange(CURVE_MINUTES + 1)
    shares = DEFAULT.survival(minutes * 60.0)
    return CarriedCurve(
        name=DEFAULT.name,
        code=DEFAULT.label.code,
        points=[[float(at), round(float(share), 4)] for at, share in zip(minutes, shares, strict=True)],
        burial_to_alarm_s=burial_to_alarm_s,
    )
