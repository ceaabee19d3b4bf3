"""Copy the records into one file."""

from __future__ import annotations

from pathlib import Path

import click

from coldfield.cli.records_options import data_options


@click.command("backup")
@data_options
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False), required=False)
def command(data: Path | None, database: str | None, out: Path | None) -> None:
    """Copy the records, even while in use, into the file OUT or into their folder 'backups'."""
    from coldfield.app.records.data import data_at
    from coldfield.app.records.keeping import backup

    click.echo(backup(data_at(data, database), out))
