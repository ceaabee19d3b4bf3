"""What the splits of a run leave open: which of two counts, and when the alarm was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from coldfield.debrief.clocks.align import FROM_ALARM, Aligned
from coldfield.debrief.clocks.keeper_clock import SPLITS
from coldfield.drill.repeats import repeats_of
from coldfield.drill.run import Splits
from coldfield.files.split_names import split_name
from coldfield.message import Message, duration, message


def alarm_of_run(aligned: Aligned, held_unix_s: float | None) -> Aligned:
    """Return the run with the time entered for it as its alarm, if no alarm was recorded.

    Parameters
    ----------
    aligned : Aligned
        The run on one clock.
    held_unix_s : float, optional
        The time entered for the run, s since 1970 UTC.
    """
    if held_unix_s is None or aligned.dated or aligned.zero != FROM_ALARM:
        return aligned
    return replace(
        aligned, zero_unix_s=held_unix_s, alarm_unix_s=held_unix_s, dated=True, alarm_from_run=True
    )


def repeat_notes(splits: Splits) -> list[Message]:
    """Return a note for each split that was entered more than once: which one counts."""
    notes = []
    for one in repeats_of(splits.rows):
        moments = sorted(splits.moment_s(splits.rows[i]) for i in one.rows)
        zero = splits.alarm_unix_s() or (
            0.0 if splits.rows[one.rows[0]].since_alarm_s is not None else moments[0]
        )
        times = tuple(duration(moment - zero) for moment in moments)
        name = split_name(one.split)
        if one.burial is None:
            notes.append(message("note.split_again", split=name, n=len(times), times=times).at(SPLITS))
        else:
            said = message("note.split_again_at", split=name, burial=one.burial, n=len(times), times=times)
            notes.append(said.at(SPLITS))
    return notes


def _zero(splits: Splits, moments: Sequence[float]) -> float:
    """Return the zero of a repeat's moments: the alarm or, if it is unknown, the first of them."""
    alarm = splits.alarm_unix_s()
    if alarm is not None:
        return alarm
    return 0.0 if any(row.since_alarm_s is not None for row in splits.rows) else moments[0]
