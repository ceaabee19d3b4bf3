"""Show what happened in a run."""

from __future__ import annotations

import click

from coldfield.cli.language import speak
from coldfield.cli.picture_options import picture_options


@click.command("debrief")
@click.argument("drill")
@click.argument("tracks", nargs=-1)
@click.option("--splits", help="CSV of splits and observations.")
@click.option(
    "--as-buried", help="Drill file with the burials as really hidden and dug out; they replace the plan's."
)
@click.option("--elevation", help="Elevation grid under the site: ESRI ASCII or GeoTIFF.")
@click.option("--crs", help="Its coordinate system, if the file does not give it: EPSG:32633, or site.")
@click.option(
    "--shift",
    "shifts",
    multiple=True,
    metavar="FILE=SECONDS",
    help="Shift a clock; 'splits' shifts that of the splits.",
)
@click.option("--simulated", is_flag=True, help="State clearly that the tracks were made in the computer.")
@click.option(
    "--standard",
    "standards",
    multiple=True,
    metavar="PHASE=SECONDS",
    help="A time to hold people to: for a phase, or for strike or airway from the alarm on.",
)
@click.option("--earlier", multiple=True, help="JSON of an earlier debrief of this group.")
@click.option(
    "--bands",
    type=click.IntRange(0, 100_000),
    default=0,
    show_default=True,
    help="Number of rehearsals with which to compare each phase.",
)
@click.option("--gpx", help="Folder for the cleaned tracks, one GPX per person.")
@click.option("--csv", help="Write the phases as CSV.")
@click.option("--pdf", help="Write a hand-out for the group, or for one person.")
@click.option("--person", help="With --pdf: whose hand-out, by id or name.")
@click.option("--html", help="Write one self-contained page.")
@picture_options
@click.option(
    "--language",
    metavar="TAG",
    expose_value=False,
    callback=lambda ctx, _option, tag: speak(ctx, tag),
    help="Same as before the command: the language of that page and of the output.",
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
    picture: str | None,
    known: tuple[str, ...],
    as_json: bool,
) -> None:
    """Debrief a run of DRILL from its TRACKS (GPX, FIT, CSV or zip).

    A track belongs to a searcher if its file, or otherwise the track in it, has the searcher's id
    or name. Without any track the debrief is made from the splits alone. For each track that cannot
    be used, stderr has one line; the rest is debriefed.
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
    write_debrief(
        debriefed, html=html, gpx=gpx, csv=csv, pdf=pdf, person=person, picture=picture, known=known
    )
    if as_json:
        click.echo(json_text(debriefed.document))
        return
    for line in debrief_words(debriefed.document):
        click.echo(line)
