"""The options of a debrief from the command line and files: standards, clock shifts, earlier runs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from coldfield.app.debriefs.once import phases_once
from coldfield.app.drills.files import read_bytes
from coldfield.debrief.document import FORMAT
from coldfield.debrief.findings.yardsticks import MOMENTS, PHASES, EarlierRun, Standard
from coldfield.errors import BadInput
from coldfield.files.debrief_json import read_debrief
from coldfield.files.json_text import decode_text, parse_json
from coldfield.files.records_zip import MOST_VALUES
from coldfield.files.track_file import MOST_BYTES
from coldfield.message import message


def standards_from(words: Sequence[str]) -> tuple[Standard, ...]:
    """Return standards from 'PHASE=SECONDS' texts: a phase, or strike or airway counted from the alarm.

    Raises
    ------
    BadInput
        One line for each text that has another form.
    """
    found, faults = [], []
    for word in words:
        what, _, text = word.partition("=")
        try:
            most_s = float(text)
        except ValueError:
            most_s = -1.0
        if what not in PHASES + MOMENTS or not 0.0 < most_s < 1e6:
            fault = message("fault.no_standard", word=word[:60], known=PHASES + MOMENTS)
            faults.append(fault.at("standard"))
        else:
            found.append(Standard(what=what, most_s=most_s))
    if faults:
        raise BadInput(faults)
    return tuple(found)


def load_earlier(paths: Sequence[Path | str]) -> tuple[EarlierRun, ...]:
    """Return the phases in earlier debrief documents.

    Raises
    ------
    BadInput
        If a file is not a debrief document.
    """
    found = []
    for path in paths:
        data = read_bytes(path, most_bytes=MOST_BYTES + 1)
        raw = parse_json(
            decode_text(data, str(path), most_bytes=MOST_BYTES), str(path), most_values=MOST_VALUES
        )
        if not isinstance(raw, dict) or raw.get("format") != FORMAT:
            raise BadInput(message("fault.no_debrief", format=FORMAT), str(path))
        document = read_debrief(raw, str(path))
        phases = phases_once(document, [one.id for one in document.searchers])
        found.append(EarlierRun(model_version=document.model_version, phases=phases))
    return tuple(found)


def shifts_from(words: Sequence[str]) -> dict[str, float]:
    """Return clock shifts from 'FILE=SECONDS' texts.

    Raises
    ------
    BadInput
        One line for each text that has another form.
    """
    shifts, faults = {}, []
    for word in words:
        name, _, seconds = word.rpartition("=")
        try:
            shifts[name] = float(seconds)
        except ValueError:
            name = ""
        if not name or not abs(shifts[name]) < 1e9:
            faults.append(message("fault.no_shift", word=word[:60]).at("shift"))
    if faults:
        raise BadInput(faults)
    return shifts
