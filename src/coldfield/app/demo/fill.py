"""Fill empty records with the demo, at once or as what a job leaves behind."""

from __future__ import annotations

from pathlib import Path

from coldfield.app.debriefs.from_records import debrief_fields
from coldfield.app.demo.records import DEBRIEF_ID, DRILL_ID, RUN_ID, MadeDemo, write_run
from coldfield.app.demo.run import DemoContent, demo_content
from coldfield.app.jobs.job import Job
from coldfield.app.jobs.jobs import Finish
from coldfield.app.jobs.stages import not_told
from coldfield.errors import Refused
from coldfield.message import message
from coldfield.records.database import PATIENT_S, Database
from coldfield.records.store import Store


def fill_demo(database: Database, place: Path) -> bool:
    """Write the demo into empty records; return False, and write nothing, where there are any.

    Parameters
    ----------
    database : Database
        The records.
    place : Path
        The folder that `write_demo` filled: drill.json, splits.csv, tracks.
    """
    if not are_empty(database):
        return False
    content = demo_content(place, progress=not_told)
    try:
        write_content(database, content)
    except Refused:
        return False
    return True


def are_empty(database: Database) -> bool:
    """Return whether there are neither people nor drills."""
    with database.read() as connection:
        return _empty(Store(connection, database.stamp()))


def _empty(store: Store) -> bool:
    return not (store.page("people", limit=1) or store.page("drills", limit=1))


def refuse_unless_empty(database: Database) -> None:
    """Raise `Refused` where there are people or drills: the demo is never mixed with records of one's own."""
    if not are_empty(database):
        raise Refused(message("fault.demo_not_mixed"))


def keep_demo(database: Database) -> Finish:
    """Return what writes a finished demo into the records."""

    def keep(_job: Job, content: DemoContent) -> MadeDemo:
        write_content(database, content)
        return MadeDemo(run_id=RUN_ID, drill_id=DRILL_ID, debrief_id=DEBRIEF_ID)

    return keep


def write_content(database: Database, content: DemoContent) -> None:
    """Write the demo's records, all of them or none.

    Raises
    ------
    Refused
        If there are people or drills, or deleted records under the ids of the demo's.
    """
    with database.write(wait_s=PATIENT_S) as connection:
        store = Store(connection, database.stamp())
        if not _empty(store):
            raise Refused(message("fault.demo_not_added"))
        write_run(store, content)
        fields = debrief_fields(store, RUN_ID, content.debrief)
        store.put("debriefs", DEBRIEF_ID, fields, based_on=None)
