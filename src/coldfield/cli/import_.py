"""Read an exported zip into empty records."""

from __future__ import annotations

from pathlib import Path

import click

from coldfield.cli.records_options import data_options


@click.command("import")
@data_options
@click.argument("archive", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(data: Path | None, database: str | None, archive: Path, as_json: bool) -> None:
    """Read ARCHIVE, a zip from `coldfield export`, into empty records, either completely or not at all."""
    from coldfield.app.answers import json_text
    from coldfield.app.records.data import data_at, writing
    from coldfield.app.records.keeping import Imported, import_records
    from coldfield.cli.export import in_words

    with writing(data_at(data, database), who="coldfield import") as records:
        counts = import_records(records, archive)
    click.echo(json_text(Imported(counts=counts)) if as_json else in_words(counts))
