"""The options for a picture of the ground under the plan."""

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
        help="A known place: its column and row in the picture, in pixels, and its position in metres. "
        "Give two to four; a GeoTIFF needs none.",
    )
    return picture(known(command))
