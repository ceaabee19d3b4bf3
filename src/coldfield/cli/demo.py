"""Write the demo to a folder and serve it from records on this machine."""

from __future__ import annotations

import click


@click.command("demo")
@click.option("--folder", default="coldfield-demo", show_default=True, help="Folder for the demo's files.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8457,
    show_default=True,
    help="If the port is taken, a free one is used.",
)
@click.option("--no-serve", is_flag=True, help="Write the files and stop.")
def command(folder: str, port: int, no_serve: bool) -> None:
    """Write an invented drill, its recorded run and its debrief, record them, and serve the records.

    The printed address opens Coldfield in the browser at once; the demo's drill, run and debrief
    appear there as soon as they are ready. Records of an earlier demo in the same folder are served
    unchanged.
    """
    from functools import partial

    from coldfield.app.demo.demo import demo_folder
    from coldfield.app.demo.fill import begin_demo, write_demo
    from coldfield.words import word

    place = write_demo(folder) if no_serve else demo_folder(folder)
    click.echo(word("command.demo.written", path=str(place)))
    if no_serve:
        return

    from coldfield.app.records.data import data_at
    from coldfield.web.serving import serve

    begin = partial(begin_demo, place=place)
    serve(data_at(place / "records"), port=port, or_any_port=True, ready=click.echo, begin=begin)
