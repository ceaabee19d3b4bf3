"""Forget a person everywhere."""

from __future__ import annotations

import json
from pathlib import Path

import click

from coldfield.cli.records_options import data_options


@click.command("forget")
@data_options
@click.argument("person")
@click.option("--yes", is_flag=True, help="Do it without asking.")
@click.option("--dry-run", is_flag=True, help="Tell what would be done, change nothing.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    data: Path | None, database: str | None, person: str, yes: bool, dry_run: bool, as_json: bool
) -> None:
    """Remove PERSON (an id or a name) everywhere, tracks included, and tell what was done.

    This cannot be undone. What other people's records need stays, without the person.
    """
    from coldfield.app.records.data import data_at, writing
    from coldfield.app.records.keeping import forget, who_is

    where = data_at(data, database)
    folder = None if where.url else where.folder
    with writing(where, who="coldfield forget") as records:
        person_id = who_is(records, person)
        if not dry_run and not yes:
            click.confirm(f"Forget {person}? This cannot be undone.", abort=True, err=True)
        told = forget(records, person_id, folder=folder, rehearse=dry_run).document()
    click.echo(json.dumps(told) if as_json else "\n".join(lines(told, dry_run=dry_run)))


def lines(told: dict[str, object], *, dry_run: bool) -> list[str]:
    """Return what was done, line by line."""
    found = ["nothing was changed; this would be done:"] if dry_run else []
    for key, value in told.items():
        words = key.replace("_", " ")
        if isinstance(value, dict):
            found += [f"{words}: {number} {what}" for what, number in value.items()]
        elif isinstance(value, list):
            found += [f"{words}: {one}" for one in value]
    return found
