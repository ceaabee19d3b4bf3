"""Write the demo into a folder and serve its debrief on this machine."""

from __future__ import annotations

import click


@click.command("demo")
@click.option(
    "--folder", default="coldfield-demo", show_default=True, help="Where the demo's files are written."
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8457,
    show_default=True,
    help="A taken port falls to a free one.",
)
@click.option("--no-serve", is_flag=True, help="Write the files and stop.")
def command(folder: str, port: int, no_serve: bool) -> None:
    """Write an invented drill, its recorded run and its debrief, and serve the debrief on this machine."""
    from coldfield.app.demo import write_demo
    from coldfield.web.one_page import serve_page

    place = write_demo(folder)
    click.echo(f"{place}: drill, splits, tracks and debrief of an invented run, made in the computer")
    if no_serve:
        return
    page = (place / "debrief.html").read_bytes()
    serve_page(page, port=port, ready=lambda address: click.echo(address))
