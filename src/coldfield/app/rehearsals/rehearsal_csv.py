"""A rehearsal as CSV: its minutes, its phases, and the share of runs by each minute."""

from __future__ import annotations

from collections.abc import Iterator

from coldfield.app.rehearsals.answers import OneRehearsal, RehearsedBurial, UnsureBandAnswer
from coldfield.files.csv_text import csv_text
from coldfield.rescue.outcome import Band

HEAD = ("row", "burial", "name", "p10_s", "p50_s", "p90_s", "minute", "share_of_runs")


def rehearsal_csv(answer: OneRehearsal) -> str:
    """Return a row for each time and each minute of a rehearsal; rows for all burials together have no id.

    `row` is 'free' (airway free, since the alarm; `name` 'runs' for the scatter of runs, 'constants' with the
    constants also drawn), 'phase' (its duration) or 'by_minute' (share of runs with a free airway). A
    percentile later than the horizon is empty. Times in s, unrounded; shares from 0 to 1.
    """
    return csv_text([HEAD, *_all(answer)])


def _all(answer: OneRehearsal) -> Iterator[tuple[object, ...]]:
    everybody = answer.all_clear
    yield _free("", "runs", everybody.seconds)
    yield _free("", "constants", everybody.unsure)
    for burial in answer.burials:
        yield from _burial(burial)
    yield from _by_minute("", everybody.by_minute)
    for burial in answer.burials:
        yield from _by_minute(burial.id, burial.airway_free_by_minute)


def _burial(burial: RehearsedBurial) -> Iterator[tuple[object, ...]]:
    for name, band in burial.seconds.items():
        if name == "airway":
            yield _free(burial.id, "runs", band)
        else:
            yield ("phase", burial.id, name, *_three(band), None, None)
    yield _free(burial.id, "constants", burial.airway_unsure)


def _free(burial: str, name: str, band: Band | UnsureBandAnswer) -> tuple[object, ...]:
    return ("free", burial, name, *_three(band), None, None)


def _three(band: Band | UnsureBandAnswer) -> tuple[float | None, ...]:
    return tuple(None if one is None else round(one, 1) for one in (band.p10, band.p50, band.p90))


def _by_minute(burial: str, shares: tuple[float, ...]) -> Iterator[tuple[object, ...]]:
    for minute, share in enumerate(shares):
        yield ("by_minute", burial, "", None, None, None, minute, round(share, 4))
