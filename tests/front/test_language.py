"""A language is one folder: a new one is found, can be chosen and is used in every output."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from coldfield.words.languages import FOLDER
from made_up_language import MARK, NAME, TAG, write_language
from visiting import Visit, served

DEMO = Path(__file__).parents[2] / "src" / "coldfield" / "app" / "demo" / "drill.json"


@pytest.fixture
def language(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = write_language(tmp_path / "words")
    monkeypatch.setenv(FOLDER, str(folder))
    return folder


@pytest.fixture
def snowish_site(language: Path, demo_records: Path, tmp_path: Path) -> Iterator[str]:
    with served(shutil.copytree(demo_records, tmp_path / "records"), tmp_path / "log") as address:
        yield address


def test_contract_a_language_of_a_folder_is_offered_and_spoken(browser: Browser, snowish_site: str) -> None:
    visit = Visit(browser, snowish_site)
    try:
        page = visit.open("/runs/demo-run?step=debrief")
        expect(page.locator("html")).to_have_attribute("lang", "en")
        page.get_by_role("combobox", name="Language").select_option(label=NAME)
        expect(page.locator("html")).to_have_attribute("lang", TAG)
        heading = page.get_by_role("heading", level=1)
        expect(heading).to_be_visible()
        # A finding of the service is shown in it, with names unchanged; the choice also applies to the next
        # page.
        expect(page.get_by_text(re.compile(r"^\*(Ines|Bram|Yuki|Tomas)\b")).first).to_be_visible()
        page.goto(snowish_site + "/people")
        expect(page.get_by_role("navigation").get_by_role("link").nth(1)).to_have_text(
            re.compile(r"^\*.+\*$")
        )
        page.goto(snowish_site + "/clock")
        expect(page.locator("html")).to_have_attribute("lang", TAG)
        expect(page.get_by_role("heading", level=1)).to_contain_text(MARK)
    finally:
        visit.context.close()


def test_contract_a_picture_a_page_and_a_fault_are_said_in_it(language: Path, tmp_path: Path) -> None:
    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "coldfield", "--language", TAG, *arguments]
        return subprocess.run(command, capture_output=True, text=True, env=os.environ, timeout=300)

    picture = tmp_path / "map.svg"
    done = run("signal", str(DEMO), "--at", "10,10", "--map", str(picture))
    assert done.returncode == 0, done.stderr
    assert f"<!-- {MARK}" in picture.read_text() or f">{MARK}" in picture.read_text()
    fault = run("signal", str(tmp_path / "none.json"), "--at", "10,10")
    assert fault.returncode == 2
    assert MARK in fault.stderr
