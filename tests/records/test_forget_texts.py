"""Every text of every form: a name is found wherever it can be, or the form excludes names."""

from __future__ import annotations

import json
import re
import unicodedata
from copy import deepcopy
from pathlib import Path
from typing import Annotated, Any

import pytest
from pydantic import BaseModel, ValidationError
from sqlalchemy import Column, LargeBinary, MetaData, Table, Text

from coldfield.app.records.keeping import forget
from coldfield.errors import BadInput
from coldfield.files.wording import TextPlace, Wording, texts_of
from coldfield.records import schema
from coldfield.records.database import Database
from coldfield.records.folder import Folder
from coldfield.records.forget.columns import texts_by_column, unclassified
from coldfield.records.forget.names import INSTEAD
from coldfield.records.kinds import KINDS
from coldfield.records.store import Store
from example_records import DRILL, GRID, a_small_season, keep_grid, keep_picture, keep_track, put

NAME = "Rúna Fálk"
SPELT = (NAME, "RÚNA  FÁLK", unicodedata.normalize("NFD", NAME), "rúna\u00a0fálk", "Fálk, Rúna")

WHOLE: dict[str, Any] = deepcopy(DRILL)
WHOLE["site"]["anchors"] = [{"name": "cairn", "position_m": [0, 0]}]
WHOLE["burials"][0]["set"] = "HL-07"
WHOLE["searchers"][0]["set"] = "HL-02"

ITEM = {"wall_ms": 1_771_060_000_000, "page": "page-1", "since_page_ms": 5.0}
"""The fields of every item besides those of its kind."""

PLACES_OF_SETS = {
    "anchors": {
        "way": "tape",
        "anchors": [{"anchor": "cairn", "distance_m": 3.0}, {"anchor": "pole", "distance_m": 4.0}],
        "side": "left",
    },
    "start": {"way": "paced", "start": "cairn", "paces": 20.0, "towards_deg": 10.0},
    "words": {"way": "words", "words": "by the cairn"},
}
"""A place of a hidden set of each type with a text, by the key of the text."""

ONE_OF = {"check_id": {"run_id": None, "check_id": "check-1"}}
"""What else changes in a record if one of two keys is used."""

FILLED: dict[str, dict[str, Any]] = {
    "people": {"name": "Noor", "contact": "noor@hollow-larch.example", "notes": "teaches"},
    "kit": {
        "kind": "set",
        "label": "HL-02",
        "owner_id": "bram",
        "notes": "new",
        "serial": "17",
        "battery": "new",
        "firmware": "3",
        "faults": "clip",
        "last_check": "2026-02-14",
        "next_check": "2026-11-14",
    },
    "sites": {"name": "Upper fan", "notes": "flat", "document": WHOLE["site"]},
    "courses": {"name": "March course", "notes": "two weeks"},
    "days": {"course_id": "feb", "date": "2026-02-15", "site_id": "bowl", "notes": "cold"},
    "participants": {"course_id": "feb", "person_id": "yuki"},
    "drills": {"document": WHOLE, "site_id": "bowl", "notes": "for beginners", "checks": ["phones"]},
    "pictures": {
        "drill_id": "fan",
        "file_name": "bowl.png",
        "width_px": 40,
        "height_px": 30,
        "size_bytes": 1,
        "sha256": "0" * 64,
    },
    "grids": {"drill_id": "fan", "file_name": "bowl.asc", "crs": "site", "size_bytes": 1, "sha256": "0" * 64},
    "runs": {
        "drill_id": "fan",
        "day_id": "feb-14",
        "name": "Run 2",
        "held_utc": "2026-02-14T11:00:00Z",
        "notes": "windy",
        "as_buried": WHOLE["burials"],
        "searchers": [{"searcher": "s2", "person_id": "bram"}],
    },
    "splits": {
        "run_id": "run-1",
        "split": "alarm",
        "searcher": "s2",
        "burial": "A",
        "since_alarm_s": 1.0,
        "note": "by hand",
    },
    "observations": {
        "run_id": "run-1",
        "about": "leader named",
        "searcher": "s2",
        "burial": "A",
        "note": "late",
    },
    "tracks": {
        "run_id": "run-1",
        "person_id": "bram",
        "phone_id": "phone-1",
        "file_name": "a.gpx",
        "searcher": "s2",
        "parts": ["s2"],
        "size_bytes": 1,
        "sha256": "0" * 64,
    },
    "phones": {"name": "Phone of the hut", "keeper": "Noor"},
    "standards": {
        "name": "One set in four minutes",
        "what": "strike",
        "most_s": 240,
        "notes": "square of 20 m",
    },
    "range_tests": {
        "kit_id": "hl-01",
        "held": "2026-02-14",
        "against": "HL-02",
        "coaxial_m": [45.0],
        "notes": "calm",
    },
    "group_checks": {
        "run_id": "run-1",
        "leader": "Noor",
        "begun_utc": "2026-02-14T09:00:00Z",
        "ended_utc": "2026-02-14T09:20:00Z",
        "checked": [
            {
                "stage": "transmits",
                "person": "s2",
                "name": "Bram",
                "set": "HL-02",
                "by": "Noor",
                "words": "new battery",
            }
        ],
        "not_checked": ["s1"],
    },
    "hidings": {
        "run_id": "run-1",
        "when": "hidden",
        "burial": "A",
        "set": "HL-07",
        "place": {"way": "words", "words": "by the cairn"},
        "by": "Noor",
    },
    "day_items": {
        "run_id": "run-1",
        "check_id": None,
        "of": "of-1",
        "phone": "phone-1",
        "n": 1,
        "told": {"kind": "note", **ITEM, "words": "cold"},
    },
    "debriefs": {"run_id": "run-1", "made_by": {"by": "hand"}, "document": {"said": [{"text": "late"}]}},
}
"""One record of each kind with every text filled."""

PLACES = [(kind, path, place) for kind in KINDS for path, place in texts_of(KINDS[kind].form).items()]
FREE = [one for one in PLACES if one[2].wording not in (Wording.RECORD, Wording.CODE)]


class Inner(BaseModel):
    remark: str


class Unmarked(BaseModel):
    parts: list[Inner] | None = None


class Marked(BaseModel):
    said: Annotated[str, Wording.WORDS]
    more: Annotated[dict[str, Any], Wording.ANYTHING] | None = None


def set_at(value: Any, path: str, text: str) -> None:
    """Put a text into the first place of a path."""
    *before, last = re.findall(r"\w+|\[\]", path)
    for step in before:
        value = value[0] if step == "[]" else value[step]
    value[0 if last == "[]" else last] = text


def filled_for(kind: str, path: str) -> dict[str, Any]:
    """Return the filled record of a kind that has a text at a path."""
    fields = deepcopy(FILLED[kind])
    if path.startswith("place."):
        fields["place"] = deepcopy(PLACES_OF_SETS[re.findall(r"\w+", path)[1]])
    return fields | (ONE_OF.get(path, {}) if kind == "day_items" else {})


def with_text(kind: str, path: str, text: str) -> dict[str, Any]:
    fields = filled_for(kind, path)
    if path == "told":
        fields["told"]["words"] = f"so {text} was late"
    elif path in ("document", "made_by"):
        fields[path] = {"a": [{text: 1, "b": f"so {text} was late"}]}
    else:
        set_at(fields, path, text)
    return fields


def ids() -> list[str]:
    return [f"{kind}-{path}" for kind, path, _ in PLACES]


def says_name(text: str) -> bool:
    """Return whether a text contains the name in any spelling, by a different method from the program's."""
    text = re.sub(r"\\u([0-9a-f]{4})", lambda found: chr(int(found[1], 16)), text)
    letters = [c for c in unicodedata.normalize("NFKD", text).casefold() if c.isalpha()]
    joined = "".join(letters)
    return "runafalk" in joined or "falkruna" in joined


def everything(database: Database) -> str:
    with database.read() as connection:
        tables = list(schema.metadata.sorted_tables)
        rows = [
            (table.name, dict(row))
            for table in tables
            for row in connection.execute(table.select()).mappings()
        ]
    return "\n".join(f"{name} {json.dumps(row, default=repr, ensure_ascii=False)}" for name, row in rows)


def named_everywhere(database: Database) -> None:
    """Write a record for each text of each form with the name in it, and no other reference to the person."""
    a_small_season(database)
    put(database, "people", "p-1", name=NAME)
    put(database, "phones", "phone-1", name="Larch")
    for number, (kind, path, _) in enumerate(FREE):
        for n, text in enumerate(SPELT):
            record_id, fields = f"n-{number}-{n}", with_text(kind, path, text)
            if kind == "tracks":
                content = json.dumps([record_id]).encode()
                del fields["size_bytes"], fields["sha256"]
                keep_track(database, record_id, content, **fields)
            elif kind == "grids":
                del fields["size_bytes"], fields["sha256"]
                keep_grid(database, record_id, GRID, **fields)
            elif kind == "pictures":
                del fields["size_bytes"], fields["sha256"]
                keep_picture(database, record_id, **fields)
            elif (kind, path) == ("runs", "searchers[].searcher"):
                document = deepcopy(WHOLE)
                document["searchers"][1]["id"] = text
                put(database, "drills", f"d-{record_id}", document=document)
                put(database, kind, record_id, **{**fields, "drill_id": f"d-{record_id}"})
            elif (kind, path) != ("people", "name"):
                put(database, kind, record_id, **fields)


def test_contract_a_name_is_gone_from_every_text_of_every_form(database: Database) -> None:
    named_everywhere(database)
    assert sum(map(says_name, everything(database).split("\n"))) > 100
    told = forget(database, "p-1").document()
    left = [line for line in everything(database).split("\n") if says_name(line)]
    assert left == []
    assert told["to_look_at"] == []


def test_contract_a_name_is_gone_from_every_byte_of_the_folder(on_sqlite: Database, folder: Folder) -> None:
    named_everywhere(on_sqlite)
    forget(on_sqlite, "p-1", folder=folder)
    for path in folder.path.rglob("*"):
        for encoding in ("utf-8", "utf-16-le", "utf-16-be", "latin-1"):
            text = path.read_bytes().decode(encoding, "ignore") if path.is_file() else ""
            assert not says_name(text), (path.name, encoding)


@pytest.mark.parametrize(("kind", "path", "place"), PLACES, ids=ids())
def test_contract_only_what_cannot_hold_a_name_is_passed_over(kind: str, path: str, place: TextPlace) -> None:
    form = KINDS[kind].form
    form.model_validate(FILLED[kind])
    fields = with_text(kind, path, NAME)
    if place.wording in (Wording.RECORD, Wording.CODE):
        with pytest.raises(ValidationError):
            form.model_validate(fields)
    else:
        form.model_validate(fields)


def test_contract_every_column_of_text_is_classified() -> None:
    assert unclassified() == []


def test_contract_a_new_column_of_text_must_be_classified(monkeypatch: pytest.MonkeyPatch) -> None:
    columns = [Column("id", Text, primary_key=True), Column("remark", Text), Column("sound", LargeBinary)]
    more = MetaData()
    for table in schema.metadata.sorted_tables:
        table.to_metadata(more)
    Table("memo", more, *columns)
    monkeypatch.setattr(schema, "metadata", more)
    assert {"memo.remark", "memo.sound"} <= set(unclassified())


def test_contract_a_new_text_of_a_form_must_be_marked() -> None:
    with pytest.raises(TypeError, match=r"parts\[\]\.remark|remark"):
        texts_of(Unmarked)
    assert set(texts_of(Marked)) == {"said", "more"}


def test_contract_every_text_of_a_form_has_its_column() -> None:
    known = {
        place
        for columns in texts_by_column().values()
        for texts in columns.values()
        for place in texts.values()
    }
    assert {place for _, _, place in PLACES} <= known


@pytest.mark.parametrize("kind", KINDS)
def test_contract_the_filled_record_of_each_kind_fills_every_text(kind: str, tmp_path: Path) -> None:
    for path in texts_of(KINDS[kind].form):
        value: Any = KINDS[kind].form.model_validate(filled_for(kind, path)).model_dump()
        for step in re.findall(r"\w+|\[\]", path):
            value = value[0] if step == "[]" else value[step]
        assert value, path


def test_contract_new_ids_of_searchers_and_burials_agree_in_all_of_a_drill(database: Database) -> None:
    document = deepcopy(WHOLE)
    document["searchers"][0] |= {"id": NAME, "name": "guest"}
    document["burials"][0]["id"] = NAME
    put(database, "people", "p-1", name=NAME)
    put(database, "drills", "d", document=document)
    put(database, "runs", "r", drill_id="d", as_buried=document["burials"])
    put(
        database,
        "splits",
        "s",
        run_id="r",
        split="airway_clear",
        searcher=NAME,
        burial=NAME,
        since_alarm_s=1.0,
    )
    put(database, "splits", "t", run_id="r", split="alarm", searcher=f"{NAME} 2", since_alarm_s=1.0)
    keep_track(database, "k", b"x", run_id="r", file_name="a.gpx", parts=[NAME, "s2"])
    phase = {"phase": "signal", "burial": NAME, "start_s": 1, "end_s": 2}
    debrief = {"searchers": [{"id": NAME, "phases": [phase]}]}
    put(database, "debriefs", "b", run_id="r", made_by={}, document=debrief)
    forget(database, "p-1")
    with database.read() as connection:
        store = Store(connection, "")
        drill, run, split = store.get("drills", "d"), store.get("runs", "r"), store.get("splits", "s")
        track, made = store.get("tracks", "k"), store.get("debriefs", "b")["document"]["searchers"][0]
        other = store.get("splits", "t")["searcher"]
        kept = connection.execute(schema.phase.select()).mappings().one()
    assert drill["document"]["searchers"][0]["id"] == split["searcher"] == track["parts"][0] == "searcher-1"
    assert run["as_buried"][0]["id"] == drill["document"]["burials"][0]["id"] == split["burial"] == "burial-1"
    assert (made["id"], made["phases"][0]["burial"]) == (kept["searcher"], kept["burial"])
    assert made["id"] == "searcher-1"
    assert made["phases"][0]["burial"] == "burial-1"
    assert other == "searcher-2"


@pytest.mark.parametrize("name", ["Idle", "Duration", "Findings", "Values", "Lane", "Probe", "Strike"])
def test_contract_codes_of_a_debrief_stay_when_somebody_is_called_like_one(
    database: Database, name: str
) -> None:
    def told(who: str) -> dict[str, Any]:
        of_time = {"kind": "duration", "value": 90.0, "decimals": None}
        inner = {"code": "place.lane", "values": {"name": who, "lane": of_time}, "place": []}
        values = {"name": who, "list": [inner, of_time, who], "values": inner}
        return {
            "run": {
                "time_zero": "strike",
                "notes": [{"code": "note.idle", "values": values, "place": [who]}],
            },
            "splits": [{"t_s": 1.0, "split": "strike", "note": f"{who} was quick"}],
            "nobodys_phases": [{"phase": "probe", "start_s": 1.0, "end_s": 2.0}],
            "findings": [
                {
                    "kind": "idle",
                    "text": {"code": "finding.idle", "values": values, "place": [who]},
                    "numbers": {"lane": 1.0, "duration": 2.0},
                }
            ],
        }

    put(database, "people", "p-1", name=name)
    put(database, "drills", "d", document=WHOLE)
    put(database, "runs", "r", drill_id="d")
    put(database, "debriefs", "b", run_id="r", made_by={}, document=told(name))
    forget(database, "p-1")
    with database.read() as connection:
        assert Store(connection, "").get("debriefs", "b")["document"] == told(INSTEAD)
    put(database, "debriefs", "later", run_id="r", made_by={}, document=told("Bram"))
    with pytest.raises(BadInput):
        put(database, "debriefs", "late", run_id="r", made_by={}, document=told(name))
