"""The clock in all its forms: served, for an https host, with one run in it."""

from __future__ import annotations

import gzip
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from fastapi.testclient import TestClient

from coldfield.cli.main import group
from coldfield.errors import Refused
from coldfield.files.clock_page import clock_html, installable_files
from coldfield.files.day_model import RunLine
from coldfield.files.one_page import built_page

DEMO = Path(__file__).parents[2] / "src" / "coldfield" / "app" / "demo" / "drill.json"
MOST_PACKED_BYTES = 130_000
MOST_PLAIN_BYTES = 330_000


def test_contract_first_open_is_small_as_sent(client: TestClient) -> None:
    packed = client.get("/clock", headers={"accept-encoding": "gzip"})
    plain = client.get("/clock", headers={"accept-encoding": "identity"})
    assert packed.status_code == 200
    assert packed.content == plain.content
    assert len(gzip.compress(plain.content, 9)) < MOST_PACKED_BYTES
    # From a host without compression. The page contains every language, because a hut has no network to load
    # one: each adds about 21 kB here, and a third of that compressed.
    assert len(plain.content) < MOST_PLAIN_BYTES


def test_contract_the_served_page_lets_only_its_own_script_act(client: TestClient) -> None:
    answer = client.get("/clock")
    stated = answer.headers["content-security-policy"]
    assert "default-src 'none'" in stated
    assert "unsafe" not in stated
    assert "frame-ancestors 'none'" in stated
    assert re.search(r"script-src 'sha256-[\w+/=]+'", stated)
    assert '<link rel="manifest"' not in answer.text


def test_contract_only_the_page_with_the_camera_may_run_the_reader(client: TestClient) -> None:
    answer = client.get("/clock/codes")
    stated = answer.headers["content-security-policy"]
    assert re.search(r"script-src 'sha256-[\w+/=]+' 'wasm-unsafe-eval';", stated)
    assert "unsafe" not in stated.replace("'wasm-unsafe-eval'", "")
    # Only the app may show it in a frame.
    assert "frame-ancestors 'self'" in stated
    assert answer.headers["permissions-policy"] == "camera=(self)"
    reader = client.get("/clock/codes.wasm")
    assert reader.headers["content-type"] == "application/wasm"
    assert reader.content.startswith(b"\0asm")
    # Neither the clock nor the app contains it.
    for path in ("/clock", "/runs"):
        other = client.get(path)
        assert "wasm-unsafe-eval" not in other.headers["content-security-policy"]
        assert "zxing" not in other.text.casefold()
    assert '<meta name="codes" content="/clock/codes" />' in client.get("/clock").text
    assert '<meta name="clock" content="/clock" />' in answer.text


def test_contract_what_a_browser_is_given_has_its_licence_told(client: TestClient) -> None:
    for told in (client.get("/app/licences.txt").text, client.get("/clock/codes").text):
        for name in ("qr\n", "zxing-wasm\n", "ZXing-C++", "Apache License", "libzueci", "@noble/hashes"):
            assert name in told


def test_contract_the_command_writes_a_page_without_any_run(tmp_path: Path) -> None:
    done = CliRunner().invoke(group, ["clock", "--out", str(tmp_path / "host")])
    assert done.exit_code == 0, done.output
    names = {path.name for path in (tmp_path / "host").iterdir()}
    assert names == {
        *("index.html", "clock.webmanifest", "sw.js", "icon.svg", "icon-192.png", "icon-512.png"),
        *("codes.html", "codes.wasm"),
    }
    page = (tmp_path / "host" / "index.html").read_text()
    assert '<script type="application/json" id="carried-run"></script>' in page
    manifest = json.loads((tmp_path / "host" / "clock.webmanifest").read_text())
    assert all((tmp_path / "host" / icon["src"]).is_file() for icon in manifest["icons"])
    assert (tmp_path / "host" / "icon-192.png").read_bytes()[16:24] == bytes([0, 0, 0, 192] * 2)
    kept = re.findall(r"'([\w.-]+\.\w+)'", (tmp_path / "host" / "sw.js").read_text().split("FILES")[1])
    assert set(kept) == names - {"sw.js"}


def test_contract_the_command_writes_a_run_into_a_folder_of_its_own_with_a_warning(tmp_path: Path) -> None:
    told = ["--word", "Granite", "--number", "1234", "--split", "first shovel", "--name", "Süd </script> 1"]
    done = CliRunner().invoke(group, ["clock", str(DEMO), "--out", str(tmp_path), *told])
    assert done.exit_code == 0, done.output
    assert "names and burial places" in done.output
    assert [path.name for path in tmp_path.iterdir()] == ["run-sud-script-1"]
    page = (tmp_path / "run-sud-script-1" / "run.html").read_text()
    found = re.search(r'id="carried-run">(.*?)</script>', page)
    assert found
    run = RunLine.model_validate_json(found[1])
    assert (run.name, run.agreed_word, run.emergency_number) == ("Süd </script> 1", "Granite", "1234")
    assert [one.id for one in run.burials] == ["A", "B"]
    assert run.curve is None


def test_contract_a_newer_page_has_a_newer_worker(monkeypatch: pytest.MonkeyPatch) -> None:
    icons = {192: b"a", 512: b"b"}
    first = installable_files(icons, "<svg/>")["sw.js"]
    assert first == installable_files(icons, "<svg/>")["sw.js"]
    assert first != installable_files({192: b"c", 512: b"b"}, "<svg/>")["sw.js"]


def test_contract_a_template_that_is_not_the_clock_is_refused() -> None:
    with pytest.raises(Refused, match="clock page: build it with `make front`"):
        clock_html(template=built_page("debrief.html", "debrief"))
