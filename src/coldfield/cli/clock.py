"""Write the clock for the phone."""

from __future__ import annotations

import click

from coldfield.cli.picture_options import picture_options


@click.command("clock")
@click.argument("drill", required=False)
@click.option("--out", required=True, help="The folder to write to.")
@click.option("--name", default="", help="Name of the run; default: the drill's name.")
@click.option("--word", "agreed_word", default="", help="The agreed word for a real emergency.")
@click.option("--number", "emergency_number", default="", help="Your own emergency number.")
@click.option("--split", "own_splits", multiple=True, help="Your own split; can be repeated.")
@click.option("--caution", "own_cautions", multiple=True, help="Your own caution; can be repeated.")
@click.option("--survival", is_flag=True, help="Allow survival to be shown on the clock.")
@picture_options
def command(
    drill: str | None,
    out: str,
    name: str,
    agreed_word: str,
    emergency_number: str,
    own_splits: tuple[str, ...],
    own_cautions: tuple[str, ...],
    survival: bool,
    picture: str | None,
    known: tuple[str, ...],
) -> None:
    """Write the clock for the phone into a folder.

    Without DRILL: a page without a run, for your own https address; a phone can install it. With
    DRILL: one file, run.html, in its own folder. It contains names and burial places: give it only
    to the keepers of the clock, and never put it on a website.
    """
    from uuid import uuid4

    from coldfield.app.day import clock as app
    from coldfield.app.drills.files import load_drill
    from coldfield.app.ground.pictures import picture_in_file
    from coldfield.words import word

    if drill is None:
        for path in app.write_clock(out):
            click.echo(path)
        click.echo(word("command.clock.put"))
        return
    loaded = load_drill(drill)
    run = app.carried_run(
        loaded,
        run_id=str(uuid4()),
        name=name,
        agreed_word=agreed_word,
        emergency_number=emergency_number,
        own_splits=own_splits,
        own_cautions=own_cautions,
        survival=survival,
        under=picture_in_file(picture, known, loaded.site),
    )
    for path in app.write_run(run, out):
        click.echo(path)
    click.echo(word("command.clock.holds_names"))
