"""Write pictures in the format that the file's extension asks for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from coldfield.app.drills.files import write_whole
from coldfield.errors import BadInput
from coldfield.message import message

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def picture_kind(path: Path | str) -> Literal["svg", "png"]:
    """Return the picture format that a file's name asks for.

    Raises
    ------
    BadInput
        If the name ends neither in .svg nor in .png.
    """
    kinds: dict[str, Literal["svg", "png"]] = {".svg": "svg", ".png": "png"}
    kind = kinds.get(Path(path).suffix.lower())
    if kind is None:
        raise BadInput(message("fault.picture_name"), str(path))
    return kind


def write_picture(path: Path | str, draw: Callable[[], Figure]) -> None:
    """Write the picture that `draw` makes as SVG or PNG, completely or not at all.

    Raises
    ------
    BadInput
        If the name ends neither in .svg nor in .png (nothing is drawn then), or the file cannot be
        written.
    """
    kind = picture_kind(path)
    from coldfield.pictures.style import picture

    write_whole(path, picture(draw(), kind))
