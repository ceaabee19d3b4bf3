"""Write the setup sheet and the lane card of a drill."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.picture_options import picture_options

if TYPE_CHECKING:
    from coldfield.paper.press import Paper


@click.command("sheet")
@click.argument("drill")
@click.option("--out", required=True, help="Where to write it: .pdf for paper, .html for the phone.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "us-letter"]),
    default="a4",
    show_default=True,
    help="Size of the sheet.",
)
@click.option("--pace-m", type=float, default=0.75, show_default=True, help="Length of a pace, m.")
@picture_options
def command(
    drill: str, out: str, paper: Paper, pace_m: float, picture: str | None, known: tuple[str, ...]
) -> None:
    """Write the sheet for the person who hides the sets of DRILL, and the lane card for its leader.

    It shows where every set lies: do not let the searchers see it.
    """
    from coldfield.app.sheets.setup import write_setup_sheet
    from coldfield.words import word

    write_setup_sheet(drill, out, paper=paper, pace_m=pace_m, picture=picture, known=known)
    click.echo(word("command.sheet.written", path=out))
