"""Serve the records to the browser on this machine."""

from __future__ import annotations

from pathlib import Path

import click

from coldfield.cli.records_options import data_options


@click.command("serve")
@data_options
@click.option("--host", default="127.0.0.1", show_default=True, help="An address of this machine alone.")
@click.option("--port", type=click.IntRange(0, 65535), default=8457, show_default=True, help="0: a free one.")
def command(data: Path | None, database: str | None, host: str, port: int) -> None:
    """Serve the records to the browser and to other programs on this machine."""
    from coldfield.app.records.data import data_at
    from coldfield.web.serving import serve

    def ready(address: str) -> None:
        click.echo(address)

    serve(data_at(data, database), host=host, port=port, ready=ready)
