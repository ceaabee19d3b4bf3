"""The phases of a debrief as CSV."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from coldfield.debrief.document import DebriefDocument, DebriefedSearcher
from coldfield.files.csv_text import csv_text

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


def phases_csv(document: DebriefDocument) -> str:
    """Return one line per phase of a debrief document; unknown values and people are empty.

    A name that a spreadsheet would treat as a formula gets an apostrophe in front (`csv_text`).
    """
    rows: list[Sequence[Any]] = [COLUMNS]
    nobody = DebriefedSearcher(id="", phases=document.nobodys_phases)
    for searcher in (*document.searchers, nobody):
        for phase in searcher.phases:
            row = {
                "searcher": searcher.id,
                "name": searcher.name,
                **asdict(phase),
                "seconds": phase.end_s - phase.start_s,
            }
            rows.append([_cell(row[column]) for column in COLUMNS])
    return csv_text(rows)


def _cell(value: Any) -> Any:
    return f"{value:.2f}" if isinstance(value, float) else value
