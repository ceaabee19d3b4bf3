"""A kept debrief for the page, and its cleaned tracks."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from coldfield.app.debriefs.ground_zone import zone_of
from coldfield.coaching.exercises import told_to_group
from coldfield.debrief.document import DebriefDocument
from coldfield.drill.frame import SiteFrame
from coldfield.drill.site import Site
from coldfield.errors import UnknownRecord
from coldfield.files.debrief_json import read_debrief
from coldfield.files.drill_json import drill_from
from coldfield.files.gpx import write_gpx
from coldfield.records.database import Database
from coldfield.records.store import Record, Store


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptDocument:
    """A kept debrief for the page, and its run."""

    run_id: str
    document: DebriefDocument


def kept_document(database: Database, debrief_id: str) -> KeptDocument:
    """Return a kept debrief; fields that an earlier version did not have are filled in.

    Findings are in today's groups, with today's exercises.

    Raises
    ------
    UnknownRecord
        If there is no such debrief.
    """
    with database.read() as connection:
        store = Store(connection, database.stamp())
        kept = store.get("debriefs", debrief_id)
        site = site_on_earth(store, store.get("runs", kept["run_id"]))
    document = read_debrief(kept["document"])
    run = replace(document.run, zone=document.run.zone or zone_of(site))
    told = replace(document, run=run, findings=told_to_group(document.findings))
    return KeptDocument(run_id=kept["run_id"], document=told)


def cleaned_gpx(database: Database, debrief_id: str) -> str:
    """Return the cleaned tracks of a kept debrief as one GPX, one track per person, in WGS84.

    The map position of the ground may have been entered after the run. The newest version of its drill then
    counts, if its boundary is still the same.

    Raises
    ------
    UnknownRecord
        If there is no such debrief.
    BadInput
        If its drill has no map position yet.
    """
    with database.read() as connection:
        store = Store(connection, database.stamp())
        debrief = store.get("debriefs", debrief_id)
        run = store.get("runs", debrief["run_id"])
        site = site_on_earth(store, run)
    document = read_debrief(debrief["document"])
    frame = SiteFrame(site.origin)
    dated = document.run.zero_utc
    zero = datetime.fromisoformat(dated).timestamp() if dated else 0.0
    tracks = []
    for searcher in document.searchers:
        pieces = [
            (zero + np.array(piece.t_s), *frame.on_earth(np.array(piece.position_m)))
            for piece in (searcher.track.pieces if searcher.track is not None else ())
        ]
        if pieces:
            tracks.append((searcher.name, pieces))
    return write_gpx(tracks)


def site_on_earth(store: Store, run: Record) -> Site:
    """Return the site of a run's drill, taken from the newest version if only that one has a map position."""
    site = drill_from(store.drill_version(run["drill_id"], run["drill_version"])).site
    if site.origin.nowhere:
        with suppress(UnknownRecord):
            newest = drill_from(store.get("drills", run["drill_id"])["document"]).site
            if np.array_equal(newest.boundary_m, site.boundary_m):
                return newest
    return site
