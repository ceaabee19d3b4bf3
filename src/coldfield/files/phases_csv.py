"""The phases of a debrief as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

COLUMNS = (
    "searcher",
    "name",
    "burial",
    "phase",
    "start_s",
    "end_s",
    "seconds",
    "border_uncertainty_s",
    "length_m",
    "speed_m_s",
    "flux_line_ratio",
)


def phases_csv(document: Mapping[str, Any]) -> str:
    """Return one line per phase of a debrief document; empty where a value is not known.

    A name that a spreadsheet would take for a formula gets an apostrophe in front.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for searcher in document["searchers"]:
        for phase in searcher["phases"]:
            row = {
                "searcher": searcher["id"],
                "name": searcher["name"],
                **phase,
                "seconds": phase["end_s"] - phase["start_s"],
            }
            writer.writerow([_cell(row[column]) for column in COLUMNS])
    return out.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.2f}"
    text = str(value)
    return f"'{text}" if text[:1] in ("=", "+", "-", "@") else text
