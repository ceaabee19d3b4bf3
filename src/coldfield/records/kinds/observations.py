"""Things seen in runs that no track shows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pydantic import model_validator
from sqlalchemy import Boolean, Column, Connection, RowMapping, Table, select

from coldfield.drill.run import Split, Splits
from coldfield.files.drill_model import BurialId, SearcherId
from coldfield.files.faults import refusal
from coldfield.files.observed import observed_split
from coldfield.files.run_csv import write_splits
from coldfield.message import message
from coldfield.records.forms import Form, Line, MaybeLine, RecordId, SinceAlarm, UnixSeconds
from coldfield.records.kind import Kind, Record
from coldfield.records.kinds.splits import split
from coldfield.records.tables import moment_columns, record_table, refers_to, text_column

observation = record_table(
    "observation",
    refers_to("run"),
    text_column("about"),
    Column("seen", Boolean, nullable=True),
    *moment_columns(),
)


class Observation(Form):
    """A thing seen (or not) in a run that no track shows; `seen` null: noted without a yes or no."""

    run_id: RecordId
    about: Line
    seen: bool | None = None
    searcher: SearcherId | None = None
    burial: BurialId | None = None
    time_unix_s: UnixSeconds | None = None
    since_alarm_s: SinceAlarm | None = None
    note: MaybeLine = ""

    @model_validator(mode="after")
    def _one_clock(self) -> Observation:
        if self.time_unix_s is not None and self.since_alarm_s is not None:
            raise refusal(message("fault.not_both_clocks"))
        return self


def split_files(connection: Connection, runs: Sequence[Record]) -> Iterator[tuple[str, bytes]]:
    """Yield each run's splits and observations as the CSV that `coldfield debrief --splits` reads."""
    ids = [run["id"] for run in runs]
    rows: dict[str, list[Split]] = {}
    for row in _visible(connection, split, ids):
        keys = ("split", "searcher", "burial", "time_unix_s", "since_alarm_s", "note")
        rows.setdefault(row["run_id"], []).append(Split(**{key: row[key] for key in keys}))
    for row in _visible(connection, observation, ids):
        if row["time_unix_s"] is not None or row["since_alarm_s"] is not None:
            rows.setdefault(row["run_id"], []).append(observed_split(dict(row)))
    for run_id, splits in sorted(rows.items()):
        yield f"runs/{run_id}/splits.csv", write_splits(_on_one_clock(splits)).encode()


def _visible(connection: Connection, table: Table, runs: Sequence[str]) -> Iterator[RowMapping]:
    query = select(table).where(table.c.deletion_id.is_(None), table.c.run_id.in_(runs))
    yield from connection.execute(query.order_by(table.c.id)).mappings()


def _on_one_clock(splits: list[Split]) -> Splits:
    """Return splits in order of time, all absolute if the alarm's moment is known, otherwise all relative."""
    alarms = [s.time_unix_s for s in splits if s.split == "alarm" and s.time_unix_s is not None]
    absolute = [s for s in splits if s.time_unix_s is not None]
    if alarms:
        zero = min(alarms)
        splits = [
            s
            if s.time_unix_s is not None
            else Split(
                split=s.split,
                searcher=s.searcher,
                burial=s.burial,
                time_unix_s=zero + (s.since_alarm_s or 0.0),
                note=s.note,
            )
            for s in splits
        ]
    elif absolute and len(absolute) < len(splits):
        # Without an alarm the two clocks cannot be joined: the CSV has the absolute ones, the JSON has all.
        splits = absolute
    key = "time_unix_s" if alarms or absolute else "since_alarm_s"
    return Splits(rows=tuple(sorted(splits, key=lambda s: (getattr(s, key), s.split))))


KIND = Kind(
    name="observations",
    one=message("term.kind.observation"),
    many=message("term.kinds.observations"),
    table=observation,
    form=Observation,
    sort="created_utc",
    called="about",
    refers={"run_id": "runs"},
    belongs=("run_id",),
    goes_with="run_id",
    from_the_first=True,
    along={"runs": split_files},
)
