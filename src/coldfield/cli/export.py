"""Write all records into one open zip."""

from __future__ import annotations

from pathlib import Path

import click

from coldfield.cli.records_options import data_options


@click.command("export")
@data_options
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(data: Path | None, database: str | None, out: Path, as_json: bool) -> None:
    """Write all records into the zip file OUT: JSON, CSV and every track in its original form."""
    from coldfield.app.answers import json_text
    from coldfield.app.records.data import data_at, reading
    from coldfield.app.records.keeping import Exported, export_records

    with reading(data_at(data, database)) as records:
        counts = export_records(records, out)
    click.echo(json_text(Exported(file=str(out), counts=counts)) if as_json else in_words(counts))


def in_words(counts: dict[str, int]) -> str:
    """Return the number of records of each kind as one line."""
    from coldfield.records.kinds import KINDS
    from coldfield.words import word

    told = [
        word("command.export.kind", n=n, kind=KINDS[name].one if n == 1 else KINDS[name].many)
        for name, n in counts.items()
        if n
    ]
    return ", ".join(told) or word("command.export.none")
