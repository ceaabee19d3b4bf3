"""Write the clock for the phone."""

from __future__ import annotations

import click


@click.command("clock")
@click.argument("drill", required=False)
@click.option("--out", required=True, help="The folder to write into.")
@click.option("--name", default="", help="What the run is called; default: the drill's name.")
@click.option("--word", "agreed_word", default="", help="The word agreed for a real emergency.")
@click.option("--number", "emergency_number", default="", help="Your own emergency number.")
@click.option("--split", "own_splits", multiple=True, help="A split of your own; can be given again.")
@click.option("--caution", "own_cautions", multiple=True, help="A caution of your own; can be given again.")
@click.option("--survival", is_flag=True, help="Let survival be switched on at the clock.")
def command(
    drill: str | None,
    out: str,
    name: str,
    agreed_word: str,
    emergency_number: str,
    own_splits: tuple[str, ...],
    own_cautions: tuple[str, ...],
    survival: bool,
) -> None:
    """Write the clock for the phone into a folder.

    Without DRILL: a page without any run in it, for an https address of your own; a phone can install it.
    With DRILL: one file, run.html, in a folder of its own. It holds names and burial places: give it to
    the keepers of the clock only, and put it on no web address.
    """
    from uuid import uuid4

    from coldfield.app.day import clock as app
    from coldfield.app.drills.files import load_drill
    from coldfield.words import word

    if drill is None:
        for path in app.write_clock(out):
            click.echo(path)
        click.echo(word("command.clock.put"))
        return
    run = app.carried_run(
        load_drill(drill),
        run_id=str(uuid4()),
        name=name,
        agreed_word=agreed_word,
        emergency_number=emergency_number,
        own_splits=own_splits,
        own_cautions=own_cautions,
        survival=survival,
    )
    for path in app.write_run(run, out):
        click.echo(path)
    click.echo(word("command.clock.holds_names"))
