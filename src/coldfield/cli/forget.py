"""Forget a person everywhere."""

from __future__ import annotations

import json
from pathlib import Path

import click

from coldfield.cli.records_options import data_options
from coldfield.message import Message

_DONE = {
    "removed": "command.forget.removed",
    "made_anonymous": "command.forget.made_anonymous",
    "to_look_at": "command.forget.to_look_at",
    "copies_that_still_hold_the_person": "command.forget.copies_that_still_hold_the_person",
    "copies_without_the_person": "command.forget.copies_without_the_person",
    "copies_that_cannot_be_searched": "command.forget.copies_that_cannot_be_searched",
    "left_elsewhere": "command.forget.left_elsewhere",
}


@click.command("forget")
@data_options
@click.argument("person")
@click.option("--yes", is_flag=True, help="Do it without asking.")
@click.option("--dry-run", is_flag=True, help="Only report what would be done; change nothing.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    data: Path | None, database: str | None, person: str, yes: bool, dry_run: bool, as_json: bool
) -> None:
    """Remove PERSON (an id or a name) everywhere, including tracks, and report what was done.

    This cannot be undone. Data that other people's records need stays, without the person.
    """
    from coldfield.app.records.data import data_at, writing
    from coldfield.app.records.keeping import forget, who_is
    from coldfield.words import word

    where = data_at(data, database)
    folder = None if where.url else where.folder
    with writing(where, who="coldfield forget") as records:
        person_id = who_is(records, person)
        if not dry_run and not yes:
            click.confirm(word("command.forget.sure", person=person), abort=True, err=True)
        told = forget(records, person_id, folder=folder, rehearse=dry_run).document()
    click.echo(json.dumps(told) if as_json else "\n".join(lines(told, dry_run=dry_run)))


def lines(told: dict[str, object], *, dry_run: bool) -> list[str]:
    """Return what was done, line by line."""
    from coldfield.words import word

    found = [word("command.forget.dry")] if dry_run else []
    for key, code in _DONE.items():
        value, what = told[key], Message(code)
        if isinstance(value, dict):
            found += [word("command.forget.count", what=what, n=n, who=who) for who, n in value.items()]
        elif isinstance(value, list):
            found += [word("command.forget.line", what=what, one=one) for one in value]
    return found
