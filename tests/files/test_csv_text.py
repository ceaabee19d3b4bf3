"""Every written CSV: no cell becomes a formula, and everything can be read back."""

from __future__ import annotations

import ast
import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import coldfield
from coldfield.drill.run import Split, Splits
from coldfield.errors import BadInput
from coldfield.files.csv_text import csv_rows, csv_text, guarded, text_lines, unguarded
from coldfield.files.debrief_json import read_debrief
from coldfield.files.phases_csv import phases_csv
from coldfield.files.run_csv import read_splits, write_splits

FORMULAS = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@sum(a1)",
    "\t",
    "\tsum",
    "\rsum",
    "  =1",
    "\u00a0=1",
    '"=1"',
    '" =cmd|x',
    "'=1",
    "''  @x",
    "\ufeff=1",
    "\uff1d1",
    "=",
    "-",
    "+49 170",
    "-2 cm",
    "\n=1",
]
HARMLESS = [
    "",
    " ",
    "-4.5",
    "+3",
    "1e5",
    "-.5",
    " -7 ",
    "left - right",
    "a=b",
    "'quoted'",
    "Ines",
    "4:20",
    "'-5",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_contract_what_begins_a_formula_is_made_harmless_and_comes_back(text: str) -> None:
    assert guarded(text) == f"'{text}"
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("text", HARMLESS)
def test_contract_numbers_and_words_stay_as_they_are(text: str) -> None:
    assert guarded(text) == text
    assert unguarded(text) == text


SIGNS = st.text(st.sampled_from("=+-@\t\r\n '\"\u00a0\ufeff\uff1d,;5.eE") | st.characters(codec="utf-8"))


@given(text=SIGNS)
def test_property_every_text_comes_back_and_no_cell_begins_a_formula(text: str) -> None:
    ((cell, other),) = csv.reader(io.StringIO(csv_text([(text, "end")]), newline=""), strict=True)
    assert (unguarded(cell), other) == (text, "end")
    bare = cell.lstrip(' \u00a0\ufeff"')
    if bare.startswith(tuple("=+-@\t\r\uff1d")):
        float(bare)  # it is a number


LINE = st.text(
    st.sampled_from("=+-@'\" ab5.") | st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1
)


@given(note=LINE, word=LINE, who=LINE)
def test_property_splits_come_back_as_they_were(note: str, word: str, who: str) -> None:
    note, word, who = note.strip(), f"x{word}".strip(), f"={who}".strip()
    row = Split(
        split=word, searcher=who, burial=None, time_unix_s=1_771_061_400.0, since_alarm_s=None, note=note
    )
    text = write_splits(Splits(rows=(row,)))
    (back,) = read_splits(text).rows
    assert (back.searcher, back.note) == (who, note)
    assert back.split.casefold().replace("_", " ") == word.casefold().replace("_", " ").replace("-", " ") or (
        back.split == word
    )


def test_contract_times_and_lengths_in_a_csv_stay_numbers() -> None:
    row = Split(split="alarm", searcher=None, burial=None, time_unix_s=None, since_alarm_s=-2.5, note="=1")
    assert write_splits(Splits(rows=(row,))).splitlines()[1] == "-2.5,,,alarm,'=1"
    phase = {
        "burial": "@A",
        "phase": "coarse",
        "start_s": -1.0,
        "end_s": 4.0,
        "border_uncertainty_s": None,
        "length_m": 3.0,
        "speed_m_s": 0.5,
        "flux_line_ratio": None,
    }
    text = phases_csv(read_debrief({"searchers": [{"id": "-s", "name": "+Ines", "phases": [phase]}]}))
    assert text.splitlines()[1] == "'-s,'+Ines,'@A,coarse,-1.00,4.00,5.00,,3.00,0.50,"


def test_contract_only_one_place_writes_csv() -> None:
    root = Path(coldfield.__file__).parent
    for path in root.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        imported = {
            name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names
        }
        assert "csv" not in imported or path.name == "csv_text.py", path


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a" * 10_001, "line 1: is longer than 10,000 characters"),
        ("a\n" + "," * 500, "line 2: has more than 100 cells"),
        ("a\n" * 30, "has more than 20 rows"),
        ("\n" * 30, "has more than 20 rows"),
        ('a\n"b', "is not CSV"),
    ],
)
def test_contract_tables_are_counted_while_they_are_read(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        list(csv_rows(io.StringIO(text, newline=""), "a.csv", delimiter=",", most_rows=20))


def test_contract_text_is_decoded_line_by_line_and_a_wrong_byte_is_named() -> None:
    data = b"\xef\xbb\xbfa,\xc3\xa9\n\nb\n"
    assert list(text_lines(data, "a.csv", most_bytes=100)) == ["a,\u00e9\n", "\n", "b\n"]
    for at in (5, 3_000_000):
        with pytest.raises(BadInput, match=rf"byte {at}\)"):
            text_lines(b"a" * at + b"\xff" + b"a" * 20, "a.csv", most_bytes=10_000_000)
    for empty in (b"", b"\xef\xbb\xbf \n"):
        with pytest.raises(BadInput, match="is empty"):
            text_lines(empty, "a.csv", most_bytes=100)


@pytest.mark.parametrize(
    ("text", "written"),
    json.loads((Path(__file__).parents[1] / "data" / "guarded_cells.json").read_text(encoding="utf-8")),
)
def test_contract_cells_are_guarded_as_the_page_guards_them(text: str, written: str) -> None:
    # `frontend/src/charts/csv.test.ts` reads the same table.
    assert guarded(text) == written
    assert unguarded(written) == text
