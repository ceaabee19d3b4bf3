"""The options that lay a picture of the ground under a plan."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

_Command = TypeVar("_Command", bound=Callable[..., Any])


def picture_options(command: _Command) -> _Command:
    """Add --picture and --known to a command."""
    picture = click.option(
        "--picture", metavar="FILE", help="Picture of the ground under the plan: PNG, JPEG or GeoTIFF."
    )
    known = click.option(
        "--known",
        multiple=True,
        metavar="COLUMN,ROW=EAST,NORTH",
        help="A place seen in the picture, in pixels, and where it is, in metres; two to four lay it. "
        "A GeoTIFF lies where it says.",
    )
    return picture(known(command))
