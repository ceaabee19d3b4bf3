"""Show what happened in a run."""

from __future__ import annotations

import click

from coldfield.cli.language import speak


@click.command("debrief")
@click.argument("drill")
@click.argument("tracks", nargs=-1)
@click.option("--splits", help="CSV of splits and observations.")
@click.option(
    "--as-buried", help="Drill file whose burials replace the plan's: as really hidden and dug out."
)
@click.option("--elevation", help="Elevation grid under the site: ESRI ASCII or GeoTIFF.")
@click.option("--crs", help="Its coordinate system, where the file does not tell: EPSG:32633, or site.")
@click.option(
    "--shift",
    "shifts",
    multiple=True,
    metavar="FILE=SECONDS",
    help="Move a clock; 'splits' moves the splits'.",
)
@click.option("--simulated", is_flag=True, help="Say plainly that the tracks were made in the computer.")
@click.option(
    "--standard",
    "standards",
    multiple=True,
    metavar="PHASE=SECONDS",
    help="A time to hold people to: a phase, or strike or airway from the alarm on.",
)
@click.option("--earlier", multiple=True, help="JSON of an earlier debrief of this group.")
@click.option(
    "--bands",
    type=click.IntRange(0, 100_000),
    default=0,
    show_default=True,
    help="Rehearse the drill so many times, to hold each phase against.",
)
@click.option("--gpx", help="Folder for the cleaned tracks, one GPX a person.")
@click.option("--csv", help="Write the phases as CSV.")
@click.option("--pdf", help="Write a hand-out of the group, or of one person.")
@click.option("--person", help="With --pdf: whose hand-out, by id or name.")
@click.option("--html", help="Write one self-contained page.")
@click.option(
    "--language",
    metavar="TAG",
    expose_value=False,
    callback=lambda ctx, _option, tag: speak(ctx, tag),
    help="The same as before the command: the language of that page and of what is printed.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    tracks: tuple[str, ...],
    splits: str | None,
    as_buried: str | None,
    elevation: str | None,
    crs: str | None,
    shifts: tuple[str, ...],
    simulated: bool,
    standards: tuple[str, ...],
    earlier: tuple[str, ...],
    bands: int,
    gpx: str | None,
    csv: str | None,
    pdf: str | None,
    person: str | None,
    html: str | None,
    as_json: bool,
) -> None:
    """Debrief a run of DRILL from its TRACKS (GPX, FIT, CSV or zip).

    A track is somebody's when its file, or else the track in it, has the id or name of a searcher.
    Without any track the debrief is made from the splits alone.
    What cannot be used is told on stderr, one line each; the rest is debriefed.
    """
    from coldfield.app.answers import json_text
    from coldfield.app.debriefs import from_files as app
    from coldfield.app.debriefs.lines import debrief_words
    from coldfield.app.debriefs.options import load_earlier, shifts_from, standards_from
    from coldfield.app.debriefs.written_files import write_debrief
    from coldfield.words import say

    run = app.load_run(
        drill,
        tracks,
        splits=splits,
        as_buried=as_buried,
        elevation=elevation,
        crs=crs,
        on_earth=bool(gpx),
    )
    debriefed = app.debrief(
        run,
        shifts_s=shifts_from(shifts),
        simulated=simulated,
        band_runs=bands,
        standards=standards_from(standards),
        earlier=load_earlier(earlier),
    )
    for fault in debriefed.faults:
        click.echo(f"coldfield: {say(fault)}", err=True)
    write_debrief(debriefed, html=html, gpx=gpx, csv=csv, pdf=pdf, person=person)
    if as_json:
        click.echo(json_text(debriefed.document))
        return
    for line in debrief_words(debriefed.document):
        click.echo(line)
