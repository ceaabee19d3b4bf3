"""A complete day file gives back what was written; if cut, edited or mixed up, it says so and keeps intact lines."""

from __future__ import annotations

import json
from hashlib import sha256
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coldfield.errors import BadInput
from coldfield.files.day_file import MOST_LINES, day_schema, is_day_file, read_day_file, write_day_file
from coldfield.files.day_model import (
    ITEMS,
    AlarmItem,
    HeadLine,
    HiddenItem,
    ItemLine,
    PhoneLine,
    RunLine,
    SplitItem,
)
from coldfield.files.drill_model import AnchorPart
from coldfield.words import say

HEAD = HeadLine(made_by="a test", made_ms=1_771_063_200_000)
PHONE = PhoneLine(id="p1", name="Ines’s phone", keeper="Ines")
RUN = RunLine(id="n-20260214-KFTRM", name="Two on the fan", prepared=False)


def born(n: int, **more: Any) -> dict[str, Any]:
    return {
        "id": f"i{n}", "phone": "p1", "n": n, "of": RUN.id, "wall_ms": 1_771_061_400_000 + 1000 * n,
        "page": "g1", "since_page_ms": 5000.5 + 1000 * n, **more,
    }  # fmt: skip


def day(count: int = 6) -> bytes:
    items: list[ItemLine] = [AlarmItem(**born(1))]
    items += [SplitItem(**born(n, split="first_signal", burial="A")) for n in range(2, count + 1)]
    return write_day_file(head=HEAD, phones=[PHONE], runs=[RUN], items=items)


def _said(data: bytes) -> list[str]:
    return [say(fault) for fault in read_day_file(data).faults]


def test_contract_what_was_written_is_read() -> None:
    file = read_day_file(day())
    assert file.faults == ()
    assert (file.head, file.phones, file.runs) == (HEAD, (PHONE,), (RUN,))
    assert [item.id for item in file.items] == [f"i{n}" for n in range(1, 7)]


@pytest.mark.parametrize("kind", sorted(ITEMS))
def test_property_each_kind_of_item_survives_the_file(kind: str) -> None:
    own: dict[str, dict[str, Any]] = {
        "mark": {"mark": 1}, "split": {"split": "beacon away"}, "seen": {"about": None, "words": "called out"},
        "digs": {"burial": "A", "searchers": ["s1"]}, "note": {"words": "wind\nagain"}, "undo": {"item": "i1"},
        "restore": {"item": "i1"}, "amend": {"item": "i1", "searcher": ""},
        "burial": {"burial": "A", "state": "moved"}, "searcher": {"searcher": "x1", "name": "Yuki"},
        "hidden": {"when": "hidden", "burial": "A", "place": {
            "way": "tape", "side": "left",
            "anchors": [{"anchor": "cairn", "distance_m": 12.5}, {"anchor": "pole", "distance_m": 30.0}]}},
        "set": {"burial": "A", "state": "missing"}, "tick": {"what": "pits_filled", "done": True},
        "check": {"extent": "full"}, "checked": {"stage": "transmits", "person": "s1", "name": "Ines"},
        "brought": {"upto": 3}, "left_out": {"whose": "p1", "out": True},
    }  # fmt: skip
    item = ITEMS[kind](**born(1, **own.get(kind, {})))
    file = read_day_file(write_day_file(head=HEAD, items=[item]))
    assert file.faults == ()
    assert file.items == (item,)
    assert type(file.items[0]) is ITEMS[kind]


@given(st.integers(min_value=1, max_value=len(day()) - 2))
def test_property_a_file_cut_anywhere_tells_it_and_keeps_the_whole_items(at: int) -> None:
    cut = day()[:at]
    whole = [line for line in cut.split(b"\n")[:-1] if b'"line":"item"' in line]
    try:
        file = read_day_file(cut)
    except BadInput as error:
        assert not whole
        assert "day file" in str(error) or "cut short" in str(error)
        return
    assert any("cut short" in say(fault) for fault in file.faults)
    assert len(whole) <= len(file.items) <= len(whole) + 1


@given(st.integers(min_value=60, max_value=len(day()) - 2), st.integers(min_value=1, max_value=255))
def test_property_one_changed_byte_is_told_and_every_other_item_kept(at: int, by: int) -> None:
    data = bytearray(day())
    data[at] ^= by
    if b"coldfield-day/1" not in data[:200]:
        return
    file = None
    try:
        file = read_day_file(bytes(data))
    except BadInput:
        # The head is also lost with the line feed after it.
        assert at <= day().index(b"\n")
    if file:
        assert file.faults
        # One line is lost, or two if the line feed between them was changed.
        assert len(file.items) >= 4


@given(st.permutations(range(6)))
def test_property_lines_in_another_order_are_told_and_all_kept(order: list[int]) -> None:
    lines = day().splitlines(keepends=True)
    mixed = lines[:3] + [lines[3 + i] for i in order] + lines[9:]
    file = read_day_file(b"".join(mixed))
    assert {item.id for item in file.items} == {f"i{n}" for n in range(1, 7)}
    assert bool(file.faults) == (order != sorted(order))


def test_contract_a_line_taken_out_is_named_by_its_number() -> None:
    lines = day().splitlines(keepends=True)
    faults = _said(b"".join(lines[:5] + lines[6:]))
    assert "items of phone Ines’s phone, run n-20260214-KFTRM, are missing: 3" in faults


def test_contract_an_item_that_stands_twice_counts_once() -> None:
    lines = day().splitlines(keepends=True)
    file = read_day_file(b"".join(lines[:5] + lines[4:]))
    assert len(file.items) == 6


def test_contract_every_fault_of_a_line_is_told_with_its_place() -> None:
    wrong = born(1, line="item", kind="hidden", when="buried", burial="A", depth_m=44, deep=1)
    faults = _said(_with(wrong))
    assert "line 2: when: must be 'hidden' or 'dug out'" in faults
    assert "line 2: depth_m: must be at least 0 and at most 10" in faults
    assert any(fault.startswith("line 2: deep: is not a key here") for fault in faults)
    assert "line 2: is of an unknown kind: 'glide'" in _said(_with({"line": "item", "kind": "glide"}))


def test_contract_a_newer_file_is_refused_in_words() -> None:
    newer = day().replace(b"coldfield-day/1", b"coldfield-day/2")
    with pytest.raises(BadInput, match=r"day\.txt: was written by a newer Coldfield \(day file 2, here 1\)"):
        read_day_file(newer, "day.txt")
    assert is_day_file(newer)


def test_contract_other_files_and_far_too_much_are_refused() -> None:
    with pytest.raises(BadInput, match="is not a day file"):
        read_day_file(b"time,split\n")
    with pytest.raises(BadInput, match="lines; at most"):
        read_day_file(day() + b"\n" * (MOST_LINES + 1))
    with pytest.raises(BadInput, match="MB are read"):
        read_day_file(b" " * 4_000_001)


def test_contract_line_ends_of_a_mail_program_do_no_harm() -> None:
    assert read_day_file(b"\xef\xbb\xbf" + day().replace(b"\n", b"\r\n")).faults == ()


def test_contract_a_prepared_run_is_carried_whole() -> None:
    run = RunLine(
        id="run-1", name="Run 2", prepared=True, drill_id="d1", drill_version=3, agreed_word="Rotwand",
        emergency_number="1234", anchors=[AnchorPart(name="cairn", position_m=[0.0, 0.0])],
        boundary_m=[[0, 0], [60, 0], [60, 80]], own_splits=["first shovel"],
    )  # fmt: skip
    assert read_day_file(write_day_file(head=HEAD, runs=[run])).runs == (run,)


def test_contract_the_schema_names_every_kind() -> None:
    schema = day_schema()
    assert {form.__name__ for form in ITEMS.values()} | {"HeadLine", "RunLine", "EndLine"} <= set(schema)
    assert len(schema["Item"]["oneOf"]) == len(ITEMS)
    assert issubclass(ITEMS["hidden"], HiddenItem)


def _with(raw: dict[str, Any]) -> bytes:
    texts = [json.dumps(HEAD.model_dump()), json.dumps(raw)]
    return "".join(f"{sha256(text.encode()).hexdigest()[:16]} {text}\n" for text in texts).encode()
