"""Show what happened in a run."""

from __future__ import annotations

import click


@click.command("debrief")
@click.argument("drill")
@click.argument("tracks", nargs=-1, required=True)
@click.option("--splits", help="CSV of splits and observations.")
@click.option(
    "--as-buried", help="Drill file whose burials replace the plan's: as really hidden and dug out."
)
@click.option(
    "--shift",
    "shifts",
    multiple=True,
    metavar="FILE=SECONDS",
    help="Move a clock; 'splits' moves the splits'.",
)
@click.option("--simulated", is_flag=True, help="Say plainly that the tracks were made in the computer.")
@click.option("--html", help="Write one self-contained page.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    tracks: tuple[str, ...],
    splits: str | None,
    as_buried: str | None,
    shifts: tuple[str, ...],
    simulated: bool,
    html: str | None,
    as_json: bool,
) -> None:
    """Debrief a run of DRILL from its TRACKS (GPX, FIT, CSV or zip).

    A track is somebody's when its file, or else the track in it, has the id or name of a searcher.
    What cannot be used is told on stderr, one line each; the rest is debriefed.
    """
    from coldfield.app.debrief import debrief, document_text, load_run, shifts_from, write_debrief
    from coldfield.app.debrief_words import debrief_words

    run = load_run(drill, tracks, splits=splits, as_buried=as_buried)
    debriefed = debrief(run, shifts_s=shifts_from(shifts), simulated=simulated)
    for line in debriefed.faults:
        click.echo(f"coldfield: {line}", err=True)
    write_debrief(debriefed, html=html)
    if as_json:
        click.echo(document_text(debriefed.document))
        return
    for line in debrief_words(debriefed.document):
        click.echo(line)
