"""The minutes of a kept drill, for lists and cards; computed once for each version."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache

from coldfield.app.rehearsals import runs
from coldfield.app.rehearsals.answers import LiveAnswer
from coldfield.app.rehearsals.live import live_minutes
from coldfield.errors import BadInput
from coldfield.files.drill_json import read_drill
from coldfield.records.database import Database
from coldfield.records.store import Store

KEPT = 64
"""The number of drills whose minutes are cached. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptMinutes:
    """How long a group needs for a kept drill: the same settled minutes as on the drill's page.

    `minutes` is null if nothing can be computed: `ready` is false while the program is being compiled, true
    if the drill lacks something, such as a burial.
    """

    ready: bool
    minutes: LiveAnswer | None


def kept_minutes(database: Database, drill_id: str) -> KeptMinutes:
    """Return the minutes of the newest version of a drill.

    Raises
    ------
    UnknownRecord
        If there is no such drill, or it is deleted.
    """
    with database.read() as connection:
        document = Store(connection, database.stamp()).get("drills", drill_id)["document"]
    if not runs.kernel_ready():
        return KeptMinutes(ready=False, minutes=None)
    return KeptMinutes(ready=True, minutes=_minutes(json.dumps(document)))


@lru_cache(maxsize=KEPT)
def _minutes(document: str) -> LiveAnswer | None:
    try:
        return live_minutes(read_drill(document), settled=True)
    except BadInput:
        return None
