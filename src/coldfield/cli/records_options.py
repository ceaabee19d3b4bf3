"""The options for the records that a command uses."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

_Command = TypeVar("_Command", bound=Callable[..., Any])


def data_options(command: _Command) -> _Command:
    """Add --data and --database to a command."""
    data = click.option(
        "--data",
        type=click.Path(path_type=Path, file_okay=False),
        envvar="COLDFIELD_DATA",
        help="The folder of the records; default: this user's own.",
    )
    database = click.option(
        "--database",
        envvar="COLDFIELD_DATABASE",
        metavar="URL",
        help="Records on a PostgreSQL server instead: postgresql://user@host/name.",
    )
    return data(database(command))
