"""Replace the records with a backup."""

from __future__ import annotations

from pathlib import Path

import click

from coldfield.cli.records_options import data_options


@click.command("restore")
@data_options
@click.argument("backup", type=click.Path(path_type=Path, dir_okay=False))
def command(data: Path | None, database: str | None, backup: Path) -> None:
    """Replace the records with the file BACKUP; the present ones are kept as a copy."""
    from coldfield.app.records.data import data_at
    from coldfield.app.records.keeping import restore
    from coldfield.words import word

    def told(kept: Path | None) -> None:
        click.echo(word("command.restore.done", path=str(backup)))
        if kept is not None:
            click.echo(word("command.restore.kept", path=str(kept)))

    restore(data_at(data, database), backup, told=told)
