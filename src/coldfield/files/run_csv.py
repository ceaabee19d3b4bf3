"""Splits and observations of a run as CSV.

The first line names the columns, in any order: ``time`` (ISO 8601 with zone, such as
``2026-02-14T10:31:05+01:00``) or ``t_s`` (seconds from the alarm, also as ``4:20`` or ``1:04:20``),
``searcher``, ``burial``, ``split``, ``note``. Columns are separated by comma, semicolon or tab;
with the last two, numbers may have a decimal comma. A row with the split ``observation`` has its
words in the note. An observation may lack its time. Splits with a fixed meaning are in
`coldfield.drill.run.SPLIT_KINDS` and may be written with spaces and capitals, in any language, and
with the short names of `coldfield.files.split_names`; other words are kept as they are.
"""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime
from math import isfinite

from coldfield.drill.recorded import EARLIEST_UNIX_S, LATEST_UNIX_S
from coldfield.drill.run import Split, Splits
from coldfield.errors import BadInput
from coldfield.files.csv_text import csv_rows, csv_text, unguarded
from coldfield.files.places import line
from coldfield.files.split_names import split_called
from coldfield.message import Message, message

COLUMNS = ("time", "t_s", "searcher", "burial", "split", "note")
MOST_ROWS = 20_000
MOST_SECONDS = 86_400.0
MOST_FAULTS = 50
CLOCK = re.compile(
    r"(?P<sign>[-\u2212]?)(?:(?P<hours>\d{1,2}):(?=\d\d:))?(?P<minutes>\d{1,3}):(?P<seconds>[0-5]\d(?:\.\d+)?)"
)
"""Minutes and seconds, with or without hours."""


def read_splits(text: str, source: str = "splits") -> Splits:
    """Return the splits and observations of a run, in order of time.

    Raises
    ------
    BadInput
        With one line per fault, each with its line in the file.
    """
    rows, faults = read_split_rows(text, source)
    if faults:
        raise BadInput(faults[:MOST_FAULTS], source)
    splits = [row for _, row in rows]
    return Splits(rows=tuple(sorted(splits, key=Splits(rows=tuple(splits)).moment_s)))


def read_split_rows(text: str, source: str = "splits") -> tuple[list[tuple[int, Split]], list[Message]]:
    """Return the rows of a file, each with its line, in the order of the file, and one message per fault.

    Raises
    ------
    BadInput
        If it is not a CSV with the right columns.
    """
    first = next((one for one in io.StringIO(text, newline="") if one.strip()), "")
    delimiter = max(",;\t", key=first.count)
    lines = io.StringIO(text, newline="")
    rows = csv_rows(lines, source, delimiter=delimiter, most_rows=MOST_ROWS)
    named = next(rows, None)
    if named is None:
        raise BadInput(message("fault.empty_splits", columns=",".join(COLUMNS[:1] + COLUMNS[2:])), source)
    header = [name.strip().lower().lstrip("\ufeff") for name in named[1]]
    _check_header(header, source)
    splits: list[tuple[int, Split]] = []
    faults: list[Message] = []
    for number, cells in rows:
        if len(cells) > len(header):
            more = message("fault.cells_for_columns", cells=len(cells), columns=len(header))
            faults.append(more.at(line(number)))
            continue
        values = dict(zip(header, (unguarded(cell.strip()) for cell in cells), strict=False))
        row, wrong = _row(values, decimal="." if delimiter == "," else ",")
        faults += [fault.at(line(number)) for fault in wrong]
        if row is not None:
            splits.append((number, row))
    faults += _mixed_clocks([row for _, row in splits])
    return splits, faults


def write_splits(splits: Splits) -> str:
    """Return splits as the text of a CSV file; `read_splits` returns equal splits from it."""
    absolute = any(row.time_unix_s is not None for row in splits.rows)
    rows: list[tuple[str, ...]] = [("time" if absolute else "t_s", *COLUMNS[2:])]
    for row in splits.rows:
        if row.time_unix_s is not None:
            moment = datetime.fromtimestamp(row.time_unix_s, UTC).isoformat().replace("+00:00", "Z")
        else:
            moment = "" if row.since_alarm_s is None else repr(row.since_alarm_s)
        rows.append((moment, row.searcher or "", row.burial or "", row.split, row.note))
    return csv_text(rows)


def _check_header(header: list[str], source: str) -> None:
    faults = [
        message("fault.no_column", name=name[:40], known=COLUMNS) for name in header if name not in COLUMNS
    ]
    twice = [name[:40] for name in sorted(set(header)) if header.count(name) > 1]
    faults += [message("fault.column_twice", name=name) for name in twice]
    if "split" not in header:
        faults.append(message("fault.needs_split_column"))
    if "time" not in header and "t_s" not in header:
        faults.append(message("fault.needs_clock_column"))
    faults = [fault.at(line(1)) for fault in faults]
    if faults:
        raise BadInput(faults, source)


def _row(values: dict[str, str], decimal: str) -> tuple[Split | None, list[Message]]:
    faults: list[Message] = []
    split = split_called(values.get("split", ""))
    if not split:
        faults.append(message("fault.split_empty").at("split"))
    if split == "observation" and not values.get("note"):
        faults.append(message("fault.note_empty").at("note"))
    clock, since = values.get("time", ""), values.get("t_s", "")
    if bool(clock) == bool(since) and (clock or split != "observation"):
        faults.append(message("fault.time_and_t_s") if clock else message("fault.time_or_t_s"))
        return None, faults
    time_unix_s, fault = _absolute(clock) if clock else (None, None)
    since_alarm_s, fault_since = _seconds(since, decimal) if since else (None, None)
    faults += [one for one in (fault, fault_since) if one]
    if faults:
        return None, faults
    return (
        Split(
            split=split,
            searcher=values.get("searcher") or None,
            burial=values.get("burial") or None,
            time_unix_s=time_unix_s,
            since_alarm_s=since_alarm_s,
            note=values.get("note", ""),
        ),
        [],
    )


def _absolute(clock: str) -> tuple[float | None, Message | None]:
    try:
        moment = datetime.fromisoformat(clock)
    except ValueError:
        return None, message("fault.not_iso_8601", text=clock[:40]).at("time")
    if moment.tzinfo is None:
        zoneless = message("fault.no_zone", text=clock[:40], example=f"{clock[:40]}+01:00")
        return None, zoneless.at("time")
    unix_s = moment.timestamp()
    if not EARLIEST_UNIX_S <= unix_s <= LATEST_UNIX_S:
        return None, message("fault.moment_beyond", text=clock[:40]).at("time")
    return unix_s, None


def _seconds(since: str, decimal: str) -> tuple[float | None, Message | None]:
    plain = since.replace(decimal, ".")
    clock = CLOCK.fullmatch(plain)
    try:
        value = _of_clock(clock) if clock else float(plain)
    except ValueError:
        value = float("nan")
    if not isfinite(value) or abs(value) > MOST_SECONDS:
        return None, message("fault.no_seconds", text=since[:40]).at("t_s")
    return value, None


def _of_clock(clock: re.Match[str]) -> float:
    hours, minutes, seconds = (float(part or 0) for part in clock.group("hours", "minutes", "seconds"))
    return (-1.0 if clock["sign"] else 1.0) * (3600.0 * hours + 60.0 * minutes + seconds)


def _mixed_clocks(splits: list[Split]) -> list[Message]:
    absolute = any(s.time_unix_s is not None for s in splits)
    relative = any(s.since_alarm_s is not None for s in splits)
    alarm = any(s.split == "alarm" and s.time_unix_s is not None for s in splits)
    if absolute and relative and not alarm:
        return [message("fault.mixed_clocks")]
    return []
