"""An observation in words, as splits files and debriefs say it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from coldfield.drill.run import Split
from coldfield.files.day_model import SEEN

NOT_SEEN = " (not seen)"


def observed_split(row: Mapping[str, Any]) -> Split:
    """Return a kept observation as a row of splits: a code as words, the keeper's own words as they are.

    Parameters
    ----------
    row : mapping
        `about`, `seen` (true, false, null), `note`, `searcher`, `burial`, `time_unix_s`, `since_alarm_s`.
    """
    about = row["about"].replace("_", " ") if row["about"] in SEEN else row["about"]
    seen = NOT_SEEN if row["seen"] is False else ""
    note = f": {row['note']}" if row["note"] else ""
    keys = ("searcher", "burial", "time_unix_s", "since_alarm_s")
    return Split(split="observation", note=f"{about}{seen}{note}", **{key: row[key] for key in keys})
