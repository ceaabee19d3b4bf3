"""Hand-outs from the records: debriefs, courses, kit, and the sheet for the group check."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from statistics import median

from coldfield.app.coaching.coach import coach_arguments, standards_held
from coldfield.app.debriefs.kept import kept_document
from coldfield.app.records.overview import course_overview
from coldfield.debrief.phases.phase import Phase
from coldfield.files.debrief_json import read_debrief
from coldfield.files.drill_json import drill_from
from coldfield.paper.debrief_sheet import Past, debrief_pdf
from coldfield.paper.hand_outs import Attended, Piece, check_pdf, course_pdf, kit_pdf
from coldfield.paper.press import Paper
from coldfield.records.database import Database
from coldfield.records.store import Record, Store
from coldfield.words import word

MOST_EARLIER = 30
"""The most earlier runs of a person that are used for 'own past'. Setting."""


def kept_debrief_pdf(
    database: Database, debrief_id: str, *, person: str | None = None, paper: Paper = "a4"
) -> bytes:
    """Return a kept debrief as a hand-out, of the group or of one searcher by id or name.

    Raises
    ------
    UnknownRecord
        If there is no such debrief or searcher.
    """
    kept = kept_document(database, debrief_id)
    past = None
    if person is not None:
        with database.read() as connection:
            past = _own_past(Store(connection, database.stamp()), kept.run_id, person)
    return debrief_pdf(kept.document, person=person, past=past, paper=paper)


def _own_past(store: Store, run_id: str, person: str) -> dict[str, Past] | None:
    """Return the durations in a person's earlier runs, by phase; None if the searcher's person is unknown."""
    run = store.get("runs", run_id)
    who = {one["searcher"]: one["person_id"] for one in run["searchers"]}
    person_id = who.get(person)
    if person_id is None:
        named = [pid for pid in who.values() if pid and store.get("people", pid)["name"] == person]
        person_id = named[0] if named else None
    if person_id is None:
        return None
    took: dict[str, list[float]] = defaultdict(list)
    for phase in _earlier(store, run, person_id):
        took[phase.phase].append(phase.end_s - phase.start_s)
    return {
        name: Past(times=len(values), best_s=min(values), middle_s=float(median(values)))
        for name, values in took.items()
    }


def _earlier(store: Store, run: Record, person_id: str) -> Iterator[Phase]:
    """Yield a person's phases from the newest debriefs of the runs before a given run."""
    looked = 0
    for one in _all(store, "runs"):
        mine = [each["searcher"] for each in one["searchers"] if each["person_id"] == person_id]
        if one["id"] == run["id"] or one["held_utc"] >= run["held_utc"] or not mine or looked >= MOST_EARLIER:
            continue
        newest = store.page("debriefs", where={"run_id": one["id"]}, limit=1)
        if not newest:
            continue
        looked += 1
        document = read_debrief(store.get("debriefs", newest[0]["id"])["document"])
        for searcher in document.searchers:
            if searcher.id in mine:
                yield from searcher.phases


def _all(store: Store, kind: str) -> Iterator[Record]:
    last: str | None = None
    while page := store.page(kind, after=last, limit=500):
        yield from page
        last = page[-1]["id"]


def course_record_pdf(database: Database, course_id: str, *, paper: Paper = "a4") -> bytes:
    """Return the record of a course: who took part in the runs of each day, and who met which standards.

    Raises
    ------
    UnknownRecord
        If there is no such course.
    """
    seen = course_overview(database, course_id)
    days = {one.id: one.date[:10] for one in seen.days}
    runs: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for run in seen.runs:
        date = days.get(run.day_id or "")
        for person in {one.person_id for one in run.searchers if one.person_id}:
            if date:
                runs[person][date] += 1
    met: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for standard in standards_held(**coach_arguments(database, course_id, None)):  # type: ignore[arg-type]
        for held in standard.people:
            if held.state in ("met", "due"):
                met[held.person].append((standard.name, (held.held or "")[:10]))
    people = [
        Attended(
            name=one.name, role=one.role, runs=runs.get(one.person_id, {}), met=met.get(one.person_id, [])
        )
        for one in seen.participants
    ]
    dates = sorted(dict.fromkeys(days.values()))
    return course_pdf(seen.course.name, dates, people, notes=seen.course.notes, paper=paper)


def kit_sheet_pdf(database: Database, *, paper: Paper = "a4") -> bytes:
    """Return the kit list as a sheet."""
    with database.read() as connection:
        store = Store(connection, database.stamp())
        names = {one["id"]: one["name"] for one in _all(store, "people")}
        pieces = [
            Piece(
                label=one["label"],
                kind=one["kind"],
                state=one["state"],
                owner=names.get(one["owner_id"], ""),
                next_check=(one["next_check"] or "")[:10],
                notes="; ".join(
                    x for x in (one["faults"], one["battery"], one["firmware"], one["notes"]) if x
                ),
            )
            for one in _all(store, "kit")
        ]
    return kit_pdf(pieces, today=database.stamp()[:10], paper=paper)


def check_sheet_pdf(
    database: Database, *, drill_id: str | None = None, course_id: str | None = None, paper: Paper = "a4"
) -> bytes:
    """Return a sheet for the group check with the people of a drill or a course, or an empty one.

    Raises
    ------
    UnknownRecord
        If there is no such drill or course.
    """
    if course_id is not None:
        seen = course_overview(database, course_id)
        return check_pdf([(one.name, "") for one in seen.participants], title=seen.course.name, paper=paper)
    if drill_id is None:
        return check_pdf([], title=word("paper.check_empty"), paper=paper)
    with database.read() as connection:
        drill = drill_from(Store(connection, database.stamp()).get("drills", drill_id)["document"], drill_id)
    worn = [(one.name, one.set_label or "") for one in drill.searchers]
    return check_pdf(worn, title=drill.name, paper=paper)
