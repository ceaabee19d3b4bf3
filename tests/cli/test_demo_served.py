"""The demo as a person meets it: one command, an address, from there to the debrief."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path


def get(address: str) -> tuple[str, dict[str, str]]:
    with urllib.request.urlopen(address, timeout=20) as answer:
        return answer.read().decode(), {key.lower(): value for key, value in answer.headers.items()}


def test_contract_demo_serves_invented_records_and_leads_to_the_debrief(tmp_path: Path) -> None:
    taken = socket.create_server(("127.0.0.1", 0))
    port = taken.getsockname()[1]
    command = ["demo", "--folder", str(tmp_path / "demo"), "--port", str(port)]
    with subprocess.Popen(
        [sys.executable, "-m", "coldfield", *command], stdout=subprocess.PIPE, text=True
    ) as process:
        try:
            assert process.stdout
            lines = [process.stdout.readline().strip() for _ in range(2)]
            address = lines[1]
            assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", address)
            assert f":{port}/" not in address, "a taken port falls to a free one"
            page, _ = get(address + "service")
            (link,) = re.findall(r'href="(/debriefs/[^"]+)"', page)
            debrief, headers = get(address.rstrip("/") + link)
            assert "debrief-document" in debrief
            assert get(address)[0] == get(address + "runs/demo-run")[0], (
                "one page at every address of the app"
            )
            assert "sha256-" in headers["content-security-policy"]
            assert "frame-ancestors 'none'" in headers["content-security-policy"]
            people, _ = get(address + "api/people/ines/history")
            assert "Run 1, made in the computer" in people
        finally:
            process.send_signal(signal.SIGINT)
            taken.close()
        assert process.wait(timeout=20) == 0
