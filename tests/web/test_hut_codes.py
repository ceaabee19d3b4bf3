"""Codes of runs: their bits, how they are typed, and that every lookup takes the same work."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from coldfield.app.hut import codes as hut_codes
from coldfield.app.hut.codes import Admitted, Codes, Turned, as_written, drawn, end_of_day
from coldfield.records.database import Database
from example_records import a_small_season
from huts import Clock


def test_contract_known_and_unknown_codes_take_the_same_work(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_small_season(database)
    work: list[str] = []
    codes = Codes(database, clock=Clock(), slow=lambda code, day: work.append("slow") or f"{day} {code}")
    some = [codes.make("run-1", "keeper") for _ in range(5)]
    same = hut_codes.compare_digest
    monkeypatch.setattr(hut_codes, "compare_digest", lambda a, b: work.append("compared") or same(a, b))
    done = {}
    for name, code in {
        "first": some[0].typed, "last": some[4].typed, "none": drawn(40), "blank": "", "endless": "A" * 64,
    }.items():  # fmt: skip
        work.clear()
        found = codes.admit(code or "", "keeper", address="192.168.7.9", phone=name)
        assert isinstance(found, Admitted if name in ("first", "last") else Turned)
        done[name] = list(work)
    assert set(map(tuple, done.values())) == {("slow", *["compared"] * 5)}


def test_property_codes_hold_their_bits_and_are_read_however_they_are_typed() -> None:
    assert {len(drawn(64)) for _ in range(50)} == {13}
    assert {len(drawn(40)) for _ in range(50)} == {8}
    assert len({drawn(40) for _ in range(2000)}) == 2000
    assert as_written(" oi1l-abcd ") == "0111ABCD"
    now = datetime(2026, 2, 14, 9, 30, tzinfo=UTC)
    assert now < end_of_day(now) <= now + timedelta(days=1)
    assert (end_of_day(now).hour, end_of_day(now).minute) == (0, 0)
