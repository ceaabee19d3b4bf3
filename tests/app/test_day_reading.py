"""Items of day files give the same run here as on the phone, in any order and with repeats."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.app.day.reading import DayRun, read_run
from coldfield.files.day_model import ITEMS, ItemLine

EXAMPLES = json.loads((Path(__file__).parents[1] / "data" / "day" / "examples.json").read_text("utf-8"))


def items_of(example: dict[str, Any]) -> list[ItemLine]:
    return [ITEMS[one["kind"]].model_validate(one) for one in example["items"]]


def told(run: DayRun) -> dict[str, Any]:
    """Return a run in the form of the examples."""
    return {
        "alarm_ms": run.alarm and run.alarm.at_ms,
        "shifts": {one.phone: one.shift_ms for one in run.shifts},
        "splits": [
            [one.item.id, one.item.split, one.burial, one.searcher, one.since_alarm_s] for one in run.splits
        ],
        "aside": [one.item.id for one in run.left if one.item.aside],
        "undone": [one.item.id for one in run.left if not one.item.aside],
        "closed": run.close is not None,
        "stopped": run.stop is not None,
        "sets": {burial: one.state for burial, one in run.sets.items()},
        "hidden_depth_m": {burial: one.item.depth_m for burial, one in run.hidden.items()},
        "dug_depth_m": {burial: one.item.depth_m for burial, one in run.dug_out.items()},
        "ticks": dict(run.ticks),
    }


@pytest.mark.parametrize("example", EXAMPLES, ids=[one["what"][:40] for one in EXAMPLES])
def test_contract_the_examples_that_the_phone_is_held_to(example: dict[str, Any]) -> None:
    found = told(read_run(items_of(example)))
    assert {key: found[key] for key in example["expect"]} == example["expect"]


@pytest.mark.parametrize("example", EXAMPLES, ids=[one["what"][:40] for one in EXAMPLES])
@examples(40)
@given(data=st.data())
def test_property_any_order_and_any_number_of_times_come_to_the_same(
    example: dict[str, Any], data: st.DataObject
) -> None:
    items = items_of(example)
    again = data.draw(st.lists(st.sampled_from(items), max_size=10))
    mixed = data.draw(st.permutations([*items, *again]))
    assert read_run(mixed) == read_run(items)


def _made(draw: st.DrawFn) -> list[ItemLine]:
    """Draw items of two phones whose clocks jump, with undos and redos of each other's items."""
    items: list[ItemLine] = []
    for phone in ("p1", "p2"):
        for n in range(1, draw(st.integers(2, 8))):
            kind = draw(st.sampled_from(["alarm", "mark", "split", "undo", "restore", "amend", "close"]))
            own: dict[str, Any] = {
                "split": {"split": "probe_strike", "burial": "A", "aside": draw(st.booleans())},
                "mark": {"mark": draw(st.integers(1, 2))},
            }.get(kind, {})
            if kind in ("undo", "restore", "amend"):
                own["item"] = f"p{draw(st.integers(1, 2))}-{draw(st.integers(1, 7))}"
            if kind == "amend":
                own["at_ms"] = draw(st.none() | st.integers(1_771_061_400_000, 1_771_061_500_000))
            stamp = {
                "id": f"{phone}-{n}",
                "phone": phone,
                "n": n,
                "of": "run-1",
                "wall_ms": draw(st.integers(1_771_061_400_000, 1_771_061_460_000)),
                "page": draw(st.sampled_from(["g1", "g2"])),
                "since_page_ms": float(draw(st.integers(0, 60_000))),
            }
            items.append(ITEMS[kind].model_validate(stamp | own))
    return items


@examples(300)
@given(data=st.data())
def test_property_clocks_that_jump_about_do_not_make_the_order_of_files_matter(data: st.DataObject) -> None:
    items = data.draw(st.composite(_made)())
    assert read_run(data.draw(st.permutations(items))) == read_run(items)
