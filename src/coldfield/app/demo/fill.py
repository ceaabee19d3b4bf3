"""Fill empty records with the demo, at once or with the result of a job."""

from __future__ import annotations

from pathlib import Path

from coldfield.app.debriefs.from_records import debrief_fields
from coldfield.app.demo.demo import demo_folder
from coldfield.app.demo.made import demo_work, made_content
from coldfield.app.demo.records import DEBRIEF_ID, DRILL_ID, RUN_ID, MadeDemo, write_run
from coldfield.app.demo.run import DemoContent
from coldfield.app.drills.files import write_whole
from coldfield.app.jobs.job import Job
from coldfield.app.jobs.jobs import Finish, Jobs
from coldfield.app.jobs.stages import not_told
from coldfield.drill.run import Splits
from coldfield.errors import Refused
from coldfield.files.debrief_html import debrief_html
from coldfield.files.run_csv import write_splits
from coldfield.message import message
from coldfield.records.database import PATIENT_S, Database
from coldfield.records.store import Store
from coldfield.words import spoken_now


def write_demo(folder: Path | str) -> Path:
    """Write drill, splits, tracks and debrief of the demo into their own folder; return it.

    Raises
    ------
    Refused
        If the folder exists and contains something other than an earlier demo.
    """
    place = demo_folder(folder)
    write_files(place, demo_work(progress=not_told))
    return place


def fill_demo(database: Database) -> bool:
    """Write the demo into empty records; if they are not empty, write nothing and return False."""
    if not are_empty(database):
        return False
    try:
        write_content(database, demo_work(progress=not_told))
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
    """Raise `Refused` if there are people or drills: the demo is never mixed with a user's own records."""
    if not are_empty(database):
        raise Refused(message("fault.demo_not_mixed"))


def begin_demo(database: Database, jobs: Jobs, place: Path) -> None:
    """Fill the records of a demo's folder, or begin a job that will; do nothing if they are not empty.

    Parameters
    ----------
    database : Database
        The records in that folder.
    jobs : Jobs
        Makes the demo if it did not come with the package.
    place : Path
        The folder.
    """
    if not are_empty(database):
        return
    content = made_content()
    if content is None:
        jobs.submit("demo", "demo", order={"work": "demo"}, arguments=lambda: {"folder": str(place)})
    else:
        write_files(place, content)
        write_content(database, content)


def keep_demo(database: Database) -> Finish:
    """Return a function that writes a finished demo into the records, and its files into its folder."""

    def keep(job: Job, content: DemoContent) -> MadeDemo:
        folder = job.arguments.get("folder")
        if folder is not None:
            write_files(Path(folder), content)
        write_content(database, content, beside_others=folder is not None)
        return MadeDemo(run_id=RUN_ID, drill_id=DRILL_ID, debrief_id=DEBRIEF_ID)

    return keep


def write_files(place: Path, content: DemoContent) -> None:
    """Write splits, tracks and debrief of the demo into its folder, which already contains the drill."""
    (place / "tracks").mkdir(parents=True, exist_ok=True)
    write_whole(place / "splits.csv", write_splits(Splits(rows=content.splits)).encode())
    for name, data in content.tracks:
        write_whole(place / "tracks" / name, data)
    page = debrief_html(content.debrief, language=spoken_now())
    write_whole(place / "debrief.html", page.encode())


def write_content(database: Database, content: DemoContent, *, beside_others: bool = False) -> None:
    """Write the demo's records, all or none.

    Parameters
    ----------
    database : Database
        The records.
    content : DemoContent
        The demo.
    beside_others : bool
        Write even if there are people or drills, which were recorded while the demo was being made.

    Raises
    ------
    Refused
        If there are people or drills, or deleted records with the demo's ids.
    """
    with database.write(wait_s=PATIENT_S) as connection:
        store = Store(connection, database.stamp())
        if not (beside_others or _empty(store)):
            raise Refused(message("fault.demo_not_added"))
        write_run(store, content)
        fields = debrief_fields(store, RUN_ID, content.debrief)
        store.put("debriefs", DEBRIEF_ID, fields, based_on=None)
