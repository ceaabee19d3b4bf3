"""All tables of the records in one module, for queries over several kinds."""

from __future__ import annotations

from coldfield.records.kinds.courses import course
from coldfield.records.kinds.day_items import day_item
from coldfield.records.kinds.days import day
from coldfield.records.kinds.debriefs import debrief, phase
from coldfield.records.kinds.drills import drill, drill_version
from coldfield.records.kinds.grids import grid, grid_file
from coldfield.records.kinds.group_checks import group_check
from coldfield.records.kinds.hidings import hiding
from coldfield.records.kinds.kit import kit
from coldfield.records.kinds.observations import observation
from coldfield.records.kinds.participants import participant
from coldfield.records.kinds.people import person
from coldfield.records.kinds.phones import phone
from coldfield.records.kinds.pictures import picture, picture_file
from coldfield.records.kinds.runs import run, run_searcher
from coldfield.records.kinds.sites import site
from coldfield.records.kinds.splits import split
from coldfield.records.kinds.tracks import original, track, track_measure
from coldfield.records.tables import APPLICATION_ID, deletion, forgotten, metadata, phone_code

__all__ = [
    "APPLICATION_ID",
    "course",
    "day",
    "day_item",
    "debrief",
    "deletion",
    "drill",
    "drill_version",
    "forgotten",
    "grid",
    "grid_file",
    "group_check",
    "hiding",
    "kit",
    "metadata",
    "observation",
    "original",
    "participant",
    "person",
    "phase",
    "phone",
    "phone_code",
    "picture",
    "picture_file",
    "run",
    "run_searcher",
    "site",
    "split",
    "track",
    "track_measure",
]
