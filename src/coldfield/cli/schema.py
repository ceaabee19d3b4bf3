"""Print the JSON Schema of the drill file."""

from __future__ import annotations

import json

import click


@click.command("schema")
def command() -> None:
    """Print the JSON Schema (draft 2020-12) of the drill file."""
    from coldfield.files.drill_json import drill_schema

    click.echo(json.dumps(drill_schema(), indent=2))
