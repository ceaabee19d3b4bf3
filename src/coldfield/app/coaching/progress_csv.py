"""Progress and standards as CSV, for an association's records: by name, then run or standard; no ranking."""

from __future__ import annotations

from collections.abc import Iterator

from coldfield.app.coaching.answers import CoachAnswer
from coldfield.files.csv_text import csv_text

HEAD = (
    "person",
    "row",
    "name",
    "held",
    "seconds",
    "state",
    "due",
    "times_as_long",
    "low",
    "high",
    "days_since",
)


def progress_csv(answer: CoachAnswer) -> str:
    """Return a row for each run of the group and of each person ('run') and for each standard ('standard').

    `times_as_long` is the recorded time divided by the time predicted with the settings, 80 %
    interval `low` to `high`; the group's rows have an empty `person`. Times in s, dates ISO 8601.
    """
    return csv_text([HEAD, *_runs(answer), *_standards(answer)])


def _runs(answer: CoachAnswer) -> Iterator[tuple[object, ...]]:
    for one in answer.progress.of:
        for run in one.runs:
            yield (
                one.person_name or "",
                "run",
                run.run,
                run.held_utc,
                None,
                None,
                None,
                round(run.times, 3),
                round(run.low, 3),
                round(run.high, 3),
                one.days_since,
            )


def _standards(answer: CoachAnswer) -> Iterator[tuple[object, ...]]:
    rows = [(each, standard.name) for standard in answer.standards for each in standard.people]
    for each, name in sorted(rows, key=lambda row: (row[0].person_name.casefold(), row[1].casefold())):
        yield (
            each.person_name,
            "standard",
            name,
            each.held,
            None if each.seconds is None else round(each.seconds, 1),
            each.state,
            each.due,
            None,
            None,
            None,
            None,
        )
