"""What was found in the files of tracks, stored so that a list need not open them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from coldfield.records.schema import track, track_measure

_MOST = 500


def kept_measures(
    connection: Connection, track_ids: Sequence[str], measured_by: str
) -> dict[str, dict[str, Any]]:
    """Return, by track, what this way of measuring found in its file, if it is stored."""
    found: dict[str, dict[str, Any]] = {}
    table = track_measure
    for start in range(0, len(track_ids), _MOST):
        some = track_ids[start : start + _MOST]
        query = select(table.c.track_id, table.c.document).where(
            table.c.track_id.in_(some), table.c.measured_by == measured_by
        )
        found |= {row.track_id: row.document for row in connection.execute(query)}
    return found


def keep_measures(
    connection: Connection, measures: Mapping[str, Mapping[str, Any]], measured_by: str
) -> None:
    """Store what was found in the files of tracks, replacing earlier results.

    Nothing is stored for a track that no longer exists.
    """
    there = set(connection.execute(select(track.c.id).where(track.c.id.in_(measures))).scalars())
    connection.execute(delete(track_measure).where(track_measure.c.track_id.in_(there)))
    rows = [
        {"track_id": track_id, "measured_by": measured_by, "document": dict(document)}
        for track_id, document in measures.items()
        if track_id in there
    ]
    if rows:
        connection.execute(insert(track_measure), rows)
