"""Hand-outs compared with their records, and their form."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from coldfield.cli.main import group
from coldfield.files.debrief_json import debrief_value
from coldfield.message import duration
from coldfield.paper.debrief_sheet import Past, debrief_pdf
from coldfield.paper.hand_outs import Attended, Piece, check_pdf, course_pdf, kit_pdf
from coldfield.words import languages, say, speaking, word
from paper_pages import A4_MM, LETTER_MM, check_form, lowest_ink, pages_of, squeezed, words_of

DAYS = [f"2026-02-{d}" for d in (14, 15, 16, 21, 22)]
LONG = "Adaeze-Maximiliana of the Larches"
PEOPLE = [
    Attended(
        name=f"{LONG} {k}",
        role="instructor" if k == 0 else "participant",
        runs={one: (k + i) % 3 for i, one in enumerate(DAYS)},
        met=[("One set in four minutes", DAYS[1])] if k % 2 else [],
    )
    for k in range(20)
]
PIECES = [
    Piece(
        label=f"HL-{k:02d}",
        kind=("set", "probe", "shovel")[k % 3],
        state=("in use", "to check", "out of use")[k % 3],
        owner=LONG,
        next_check=f"2026-0{1 + k % 9}-01",
        notes="battery 38 %, found at the group check",
    )
    for k in range(30)
]


def sheets(paper: str) -> dict[str, bytes]:
    size = {"paper": paper}
    return {
        "course": course_pdf("Winter course", DAYS, PEOPLE, notes="Two groups.", **size),  # type: ignore[arg-type]
        "kit": kit_pdf(PIECES, today="2026-03-01", **size),  # type: ignore[arg-type]
        "check": check_pdf([(one.name, "HL-01") for one in PEOPLE], title="Winter course", **size),  # type: ignore[arg-type]
        "empty check": check_pdf([], title="to fill in", **size),  # type: ignore[arg-type]
    }


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
@pytest.mark.parametrize("language", sorted(languages()))
def test_contract_every_hand_out_holds_in_form(paper: str, language: str) -> None:
    with speaking(language):
        made = sheets(paper)
    for name, pdf in made.items():
        check_form(pdf, A4_MM if paper == "a4" else LETTER_MM, language)
        text = words_of(pdf)
        assert not re.search(r"\b(paper|sheet|kit)\.[a-zA-Z_]{2}", text), name
    assert len(pages_of(made["check"])) == 1
    assert lowest_ink(made["check"], 1) > 0.85
    assert lowest_ink(made["empty check"], 1) > 0.85
    for name in ("course", "kit"):
        assert lowest_ink(made[name], len(pages_of(made[name]))) > 0.7, name


@pytest.mark.parametrize("count", [1, 11, 30, 44, 45, 46, 47, 60])
def test_contract_a_kit_sheet_of_any_length_ends_on_a_full_page_signed_there(count: int) -> None:
    pieces = [replace(PIECES[k % 30], label=f"HL-{k:02d}", notes="", owner="") for k in range(count)]
    pdf = kit_pdf(pieces, today="2026-03-01")
    last = pages_of(pdf)[-1]
    assert "checked by" in last
    assert "maker's service" in last
    assert lowest_ink(pdf, len(pages_of(pdf))) > 0.7


def test_contract_the_course_record_tells_attendance_standards_and_signatures() -> None:
    text = words_of(sheets("a4")["course"])
    for one in PEOPLE:
        assert squeezed(one.name) in squeezed(text)
    for words in (
        "14.02.",
        "22.02.",
        "One set in four minutes",
        "15 February 2026",
        "course leader",
        "not a certificate",
    ):
        assert words in text, words
    assert text.count("2 runs") == sum(n == 2 for one in PEOPLE for n in one.runs.values())


def test_contract_the_kit_sheet_puts_first_what_waits() -> None:
    text = words_of(sheets("a4")["kit"])
    waiting = [p for p in PIECES if p.state == "to check" or p.next_check <= "2026-03-01"]
    first, rest = text.split("In order, as far as is known")
    assert f"({len(waiting)})" in first
    assert all(p.label in first for p in waiting)
    assert all(p.label in rest for p in PIECES if p not in waiting)
    assert "maker's service" in text


@pytest.fixture(scope="module")
def debriefed(demo_files: Path):  # type: ignore[no-untyped-def]
    from coldfield.app.debriefs.from_files import debrief, load_run

    tracks = sorted((demo_files / "tracks").iterdir())
    run = load_run(demo_files / "drill.json", tracks, splits=demo_files / "splits.csv")
    return debrief(run, band_runs=100).document


@pytest.mark.parametrize(
    ("language", "paper"), [("en", "a4"), *((tag, "us-letter") for tag in sorted(languages()))]
)
def test_contract_a_debrief_is_handed_out_to_the_group_and_to_one(
    debriefed, language: str, paper: str
) -> None:  # type: ignore[no-untyped-def]
    with speaking(language):
        whole = debrief_pdf(debriefed, paper=paper)  # type: ignore[arg-type]
        one = debrief_pdf(
            debriefed, person="Ines", past={"coarse": Past(times=4, best_s=40.0, middle_s=61.0)}
        )
        said = {say(f.text) for f in debriefed.findings}
        past = word("paper.past", n=4, middle=duration(61.0), best=duration(40.0))
    check_form(whole, A4_MM if paper == "a4" else LETTER_MM, language)
    check_form(one, A4_MM, language)
    assert (len(pages_of(whole)), len(pages_of(one))) == (1, 1)
    text, own = words_of(whole), words_of(one)
    for searcher in debriefed.searchers:
        assert searcher.name in text
    assert "Bram" not in own
    assert "Ines" in own
    assert sum(squeezed(words) in squeezed(text) for words in said) >= min(3, len(said))
    assert squeezed(past) in squeezed(own)
    assert language != "en" or "4 times, half by 1 min 1 s, best 40 s" in own
    # Each phase of Ines with its duration in seconds, from the document itself.
    document = debrief_value(debriefed)
    phases = next(s for s in document["searchers"] if s["name"] == "Ines")["phases"]
    for phase in phases:
        took = int(phase["end_s"] - phase["start_s"] + 0.5)
        assert f"{took // 60} min" in own if took >= 60 else f"{took} s" in own


def test_contract_the_command_writes_it_and_names_who_is_there(demo_files: Path, tmp_path: Path) -> None:
    arguments = ["debrief", str(demo_files / "drill.json"), "--splits", str(demo_files / "splits.csv")]
    out = tmp_path / "ines.pdf"
    done = CliRunner().invoke(
        group, [*arguments, "--pdf", str(out), "--person", "Ines"], catch_exceptions=False
    )
    assert done.exit_code == 0, done.output
    assert "Ines" in words_of(out.read_bytes())
    wrong = CliRunner().invoke(group, [*arguments, "--pdf", str(tmp_path / "x.pdf"), "--person", "Nobody"])
    assert wrong.exit_code != 0
    assert len(wrong.stderr.splitlines()) >= 1
    assert not (tmp_path / "x.pdf").exists()
