"""`coldfield pulse` and its route: the same answer, stable keys, and one line for a file that is not a recording."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from coldfield.app.kit.pulse import load_pulse
from coldfield.cli.main import group
from coldfield.errors import BadInput
from spoken_answers import in_english
from wav_files import pulses, wav_file


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    path = tmp_path / "set.wav"
    path.write_bytes(wav_file(1, 16, 1, rate=8000, sound=pulses(8000)))
    return path


def printed(*arguments: str) -> str:
    done = CliRunner().invoke(group, ["pulse", *arguments], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


def test_contract_the_keys_that_other_programs_rely_on(recording: Path) -> None:
    got = json.loads(printed(str(recording), "--from", "coil", "--json"))
    assert got["period_ms"] == pytest.approx(1000, abs=0.5)
    assert got["on_ms"] == pytest.approx(90, abs=2)
    assert got["off_ms"] == pytest.approx(910, abs=2)
    assert got["jitter_ms"] == pytest.approx(0, abs=2)
    assert got["pulses"] == 20
    assert got["verdict"] == "within"
    assert got["carrier_offset_hz"] is None
    assert any("maker's service" in reason for reason in got["reasons"])
    assert any("cannot tell" in reason for reason in got["reasons"])
    assert got["limits"]["standing"] == "second-hand"


def test_contract_without_a_word_about_the_source_only_the_period_is_judged(recording: Path) -> None:
    got = json.loads(printed(str(recording), "--json"))
    assert got["verdict"] == "cannot tell"
    assert (got["period_verdict"], got["on_verdict"], got["off_verdict"]) == (
        "within",
        "cannot tell",
        "cannot tell",
    )
    assert got["on_ms"] == pytest.approx(90, abs=2)


def test_contract_people_read_the_same_in_words(recording: Path, tmp_path: Path) -> None:
    words = printed(str(recording), "--from", "receiver", "--picture", str(tmp_path / "p.svg"))
    assert words.startswith("Period: 1,000.0 +- 0.")
    assert "Against the standard: within (period within, on within, off within)" in words
    assert (tmp_path / "p.svg").stat().st_size > 5000


def test_contract_a_recording_that_is_a_picture_gets_one_clear_line(tmp_path: Path) -> None:
    path = tmp_path / "set.wav"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"\x00" * 100)
    done = CliRunner(catch_exceptions=True).invoke(group, ["pulse", str(path)])
    assert done.exit_code != 0
    assert done.stderr == f"coldfield: {path}: is a picture, not a WAV recording; choose the recording\n"
    with pytest.raises(BadInput, match=r"none\.wav"):
        load_pulse(tmp_path / "none.wav", recorded_from="coil")


def test_contract_the_route_answers_what_the_command_prints(client: TestClient, recording: Path) -> None:
    asked = {"file_name": str(recording), "from": "coil"}
    answer = client.post("/api/pulse", params=asked, content=recording.read_bytes())
    assert answer.status_code == 200, answer.text
    assert in_english(answer.json()) == json.loads(printed(str(recording), "--from", "coil", "--json"))
    wrong = client.post("/api/pulse", params=asked, content=b"\x89PNG" + bytes(100))
    assert wrong.status_code == 422
    assert "picture" in wrong.text


def test_contract_silence_is_answered_in_words(tmp_path: Path) -> None:
    path = tmp_path / "silent.wav"
    path.write_bytes(wav_file(1, 16, 1, rate=8000, sound=np.zeros(80_000)))
    words = printed(str(path), "--from", "coil")
    assert "Period: cannot tell" in words
    assert "no tone comes and goes" in words
