"""Serve the records to the browser: on this machine, or in the hut behind a passphrase."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from coldfield.cli.records_options import data_options


@click.command("serve")
@data_options
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="An address or name of this machine; one that others can reach needs a passphrase.",
)
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8457, show_default=True, help="0: any free port."
)
@click.option("--cert", type=click.Path(path_type=Path), help="A certificate with its chain, for https.")
@click.option("--key", type=click.Path(path_type=Path), help="Its key, if that is in another file.")
def command(
    data: Path | None,
    database: str | None,
    host: str,
    port: int,
    cert: Path | None,
    key: Path | None,
) -> None:
    """Serve the records to the browser and to other programs on this machine.

    With another --host, people in its network can open the app with a passphrase, and phones can
    send what they recorded with codes of a run. The command asks for the passphrase, or takes it
    from COLDFIELD_PASSPHRASE.
    """
    from coldfield.app.records.data import data_at
    from coldfield.web.listening import Tls
    from coldfield.web.serving import serve

    if cert is None and key is not None:
        raise click.UsageError("--key needs --cert.")
    serve(
        data_at(data, database),
        host=host,
        port=port,
        passphrase=_passphrase(host),
        tls=None if cert is None else Tls(cert, key),
        ready=click.echo,
    )


def _passphrase(host: str) -> str | None:
    """Return the passphrase from the environment, or ask for one at the terminal if it is needed."""
    from coldfield.web.listening import is_loopback
    from coldfield.words import word

    if told := os.environ.get("COLDFIELD_PASSPHRASE"):
        return told
    if is_loopback(host) or not sys.stdin.isatty():
        return None
    return str(click.prompt(word("command.serve.passphrase"), hide_input=True, confirmation_prompt=True))
