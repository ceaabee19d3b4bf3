"""Shipped loops give the same results as numba, and leave everything else to it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coldfield import shipped_loops
from coldfield.app.demo.demo import demo_drill
from coldfield.app.rehearsals.rehearse import both_passes
from coldfield.drill import Drill
from coldfield.rescue.kernel.event_loop import many_runs
from coldfield.rescue.lanes_like import NoLanes
from coldfield.rescue.rehearsal import Scene, rehearse
from coldfield.search.detection.kernel import multiply_misses
from coldfield.search.width.lateral_kernel import count_heard, fill_table
from coldfield.search.width.lateral_range import Pair, burial_samples, heard_share, heard_table
from coldfield.shipped_loops import Loop

SHIPPED = [many_runs, fill_table, count_heard, multiply_misses]


@pytest.fixture
def by_numba(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """Ignore shipped loops once a test says so."""
    yield monkeypatch
    monkeypatch.undo()


def test_contract_every_loop_is_shipped_for_this_machine() -> None:
    there = [loop.ready and loop._shipped is not None for loop in SHIPPED]
    if os.environ.get("CI") != "true" and not any(there):
        pytest.skip("loops are not shipped yet: python -m coldfield.app.ship_loops")
    assert all(there)


def test_independent_route_numba_gives_the_same_strips(by_numba: pytest.MonkeyPatch) -> None:
    drill = demo_drill()
    pair = Pair(receiver=drill.searchers[0].receiver, transmitter=drill.burials[0].transmitter)
    burials = burial_samples(pair, 2048)
    distances = np.linspace(0.0, 60.0, 40)
    table, share = heard_table(pair, distances, burials), heard_share(pair, 21.0, burials)
    by_numba.setattr(Loop, "by_numba", True)
    assert np.array_equal(heard_table(pair, distances, burials), table)
    assert heard_share(pair, 21.0, burials) == share
    assert 0.2 < table.mean() < 0.8


@pytest.mark.desk
def test_independent_route_numba_gives_the_same_runs(by_numba: pytest.MonkeyPatch) -> None:
    def played(drill: Drill, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        lanes, second = both_passes(drill, None)
        scene = Scene(drill=drill, lanes=lanes or NoLanes(), second=second, seed=seed, anywhere=seed % 2 == 0)
        told = rehearse(scene, first_run=0, last_run=200)
        return told.moments_s, told.failure, told.finder

    drills = [demo_drill(), replace(demo_drill(), burials=demo_drill().burials[:1])]
    shipped = [played(drill, seed) for drill in drills for seed in (1, 2)]
    by_numba.setattr(Loop, "by_numba", True)
    again = [played(drill, seed) for drill in drills for seed in (1, 2)]
    for one, other in zip(shipped, again, strict=True):
        assert all(
            np.array_equal(a, b, equal_nan=a.dtype.kind == "f") for a, b in zip(one, other, strict=True)
        )


def counted() -> np.ndarray:
    """Call the loop that counts, shipped or not."""
    pair = Pair(receiver=demo_drill().searchers[0].receiver, transmitter=demo_drill().burials[0].transmitter)
    return np.array(heard_share(pair, 15.0, burial_samples(pair, 1024)))


@pytest.mark.parametrize("content", [None, b"", b"no xz", b"\xfd7zXZ\x00"])
def test_contract_without_a_file_that_can_be_read_numba_does_it(
    content: bytes | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = counted()
    fresh = Loop(count_heard.dispatcher)
    folder = tmp_path / "coldfield" / shipped_loops.FOLDER
    folder.mkdir(parents=True)
    if content is not None:
        (folder / fresh.file_name).write_bytes(content)
    monkeypatch.setattr(shipped_loops, "files", lambda _package: tmp_path / "coldfield")
    monkeypatch.setattr("coldfield.search.width.lateral_kernel.count_heard", fresh)
    assert fresh._shipped is None
    assert np.array_equal(counted(), before)


@pytest.mark.parametrize("damage", ["none", "cut off", "one bit", "empty", "a folder"])
def test_contract_a_loop_is_translated_once_on_a_machine_and_again_if_what_was_kept_is_damaged(
    damage: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, translated = counted(), []
    keep = shipped_loops._keep
    monkeypatch.setattr(shipped_loops, "_keep", lambda *told: (translated.append(told[1]), keep(*told)))
    monkeypatch.setattr(shipped_loops, "folder_of", lambda _function: tmp_path)

    def anew() -> None:
        fresh = Loop(count_heard.dispatcher)
        monkeypatch.setattr("coldfield.search.width.lateral_kernel.count_heard", fresh)
        assert np.array_equal(counted(), before)
        assert fresh._shipped is not None

    anew()
    (kept,) = tmp_path.iterdir()
    content = kept.read_bytes()
    if damage == "a folder":
        kept.unlink()
        kept.mkdir()
    else:
        spoilt = {"cut off": content[:-9], "one bit": content[:-1] + bytes([content[-1] ^ 1]), "empty": b""}
        kept.write_bytes(spoilt.get(damage, content))
    anew()
    assert len(translated) == (1 if damage == "none" else 2)
    assert damage == "a folder" or kept.read_bytes() == content


KIND = st.tuples(
    st.sampled_from(["<f8", "<f4", "<i8"]), st.sampled_from("12"), st.sampled_from("AC"), st.booleans()
)


@given(KIND, KIND)
def test_property_a_loop_takes_rows_for_any_layout_and_both_for_what_it_only_reads(
    own: tuple[str, str, str, bool], given_kind: tuple[str, str, str, bool]
) -> None:
    def word(kind: tuple[str, str, str, bool]) -> str:
        return f"{kind[0]}{kind[1]}{kind[2]}{'r' if kind[3] else ''}"

    wanted = (
        own[:2] == given_kind[:2]
        and (own[2] == "A" or given_kind[2] == "C")
        and (own[3] or not given_kind[3])
    )
    assert shipped_loops._fits(word(own), word(given_kind)) == wanted


def test_contract_values_of_another_kind_go_to_numba() -> None:
    taken = count_heard._shipped
    if taken is None:
        pytest.skip("loops are not shipped yet: python -m coldfield.app.ship_loops")
    kinds = taken._kinds
    assert taken.takes(kinds)
    assert not taken.takes(kinds.replace("<f8", "<f4"))
    assert not taken.takes(kinds + ",f")
