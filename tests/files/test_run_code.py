"""A run in codes: complete, few enough, in any order, seen by a camera, with clear faults for others."""

from __future__ import annotations

import json
import zlib
from base64 import b32decode
from pathlib import Path

import pytest
import segno
from shapely import Polygon

from code_camera import drawn, read, seen
from coldfield.errors import BadInput
from coldfield.files.code_picture import dark_bars
from coldfield.files.day_model import CarriedBurial, CarriedPerson, RunLine
from coldfield.files.drill_model import AnchorPart
from coldfield.files.run_code import MOST_CORNERS, MOST_JSON, THIN_M, read_run_code, write_run_code

EXAMPLES = Path(__file__).parents[1] / "data" / "day" / "run_code.json"
FIRST = ["Adaeze", "Bram", "Caro", "Dario", "Elin", "Finn", "Gro", "Henk", "Ines", "Jurek", "Kaja", "Leif"]
LAST = [
    *("Larch", "Juniper", "Rowan", "Willow", "Bilberry", "Gentian"),
    *("Saxifrage", "Cotton", "Sedge", "Heather", "Birch", "Alder"),
]


def wide_run() -> RunLine:
    """Return a run of 12 people and 4 burials with long names and all optional values."""
    square = Polygon([(0, 0), (1, 0), (1, 1), (0, 1)]).buffer(1.0, 14)
    corners = [[100 + 90 * x, 100 + 90 * y] for x, y in square.exterior.coords[:-1]]
    return RunLine(
        id="3f6c1a52-07b4-4d11-9a35-5be1b0f0c001",
        name="Second run of the second morning, below the moraine, with the whole course",
        prepared=True,
        drill_id="b7d5f0aa-81c2-4e67-8c5f-1d2e3f405162",
        drill_version=14,
        drill_name="Four sets on the long fan under the northern moraine, two of them close together",
        burials=[
            CarriedBurial(
                id=f"{FIRST[k]}’s sack beside the {LAST[k].lower()} boulder",
                position_m=[31.237 * k + 7.113, 83.619 - 17.341 * k],
                depth_m=0.83 + 0.21 * k,
                azimuth_deg=41.5 + 77.25 * k,
                tilt_deg=12.5 * k,
                set=f"HL-{17 * k + 3:02d}",
            )
            for k in range(4)
        ],
        anchors=[
            AnchorPart(name=f"{LAST[11 - k]} post with the red flag", position_m=[47.31 * k, 12.9 + 33.77 * k])
            for k in range(6)
        ],
        boundary_m=corners,
        entry_m=[100.04, 3.22],
        searchers=[
            CarriedPerson(id=f"s{k}", name=f"{FIRST[k]}-{FIRST[-k]} of the {LAST[k]} {LAST[-k]} hut", set=f"HL-{37 * k + 11}")
            for k in range(12)
        ],
        own_splits=["first shovel in", "head free", "all probes away", "leader has changed", "helicopter heard"],
        agreed_word="Granite",
        emergency_number="0800 555 112 119",
        own_cautions=[
            "Keep off the cornice above the pole, on the way up and on the way down.",
            "The stream under the snow at the lower end is open after noon.",
            "Nobody walks alone to the upper anchor.",
        ],
    )  # fmt: skip


def test_contract_twelve_people_and_four_burials_with_long_names_take_four_codes_at_most() -> None:
    run = wide_run()
    codes = write_run_code(run)
    assert 2 <= len(codes) <= 4
    for code in codes:
        made = segno.make_qr(code, error="m", boost_error=False)
        assert (made.mode, made.error) == ("alphanumeric", "M")
        assert made.version <= 20
    back = read_run_code(codes[::-1])
    thinned = {"burials", "anchors", "boundary_m", "entry_m"}
    assert back.model_dump(exclude=thinned) == run.model_dump(exclude=thinned)
    for ours, theirs in zip(run.burials, back.burials, strict=True):
        assert theirs.position_m == pytest.approx(ours.position_m, abs=0.005001)
        assert theirs.depth_m == pytest.approx(ours.depth_m, abs=0.005001)
    assert run.boundary_m
    assert back.boundary_m
    # Simplified lines: within half a metre, plus 0.07 m of rounding, and with few corners.
    ring, thin = Polygon(run.boundary_m).exterior, Polygon(back.boundary_m).exterior
    assert len(back.boundary_m) <= MOST_CORNERS < len(run.boundary_m)
    assert ring.hausdorff_distance(thin) < 1.5 * THIN_M


def test_contract_a_jagged_boundary_has_few_corners_too() -> None:
    jagged = [
        [x + (3.0 if k % 2 else 0.0), 2.0 * k]
        for x, rows in ((0.0, range(60)), (90.0, range(59, -1, -1)))
        for k in rows
    ]
    run = RunLine(id="r", name="", prepared=True, boundary_m=jagged)
    back = read_run_code(write_run_code(run))
    assert back.boundary_m
    assert 3 <= len(back.boundary_m) <= MOST_CORNERS
    assert Polygon(back.boundary_m).is_valid


def test_contract_a_run_that_nobody_told_much_of_is_one_code() -> None:
    run = RunLine(id="r", name="", prepared=True, burials=[CarriedBurial(id="A", has_set=False)])
    (code,) = write_run_code(run)
    assert read_run_code((code,)) == run


def test_contract_as_a_fragment_it_is_one_text_and_nothing_an_address_would_change() -> None:
    (whole,) = write_run_code(wide_run(), most_signs=MOST_JSON)
    assert read_run_code((whole,)) == read_run_code(write_run_code(wide_run()))
    assert whole.replace(".", "").isalnum()


def test_independent_route_the_body_is_base_32_of_deflate_of_the_run() -> None:
    told = json.loads(EXAMPLES.read_text())
    parts = [code.split(".") for code in told["codes"]]
    body = "".join(part[4] for part in parts)
    text = zlib.decompress(b32decode(body + "=" * (-len(body) % 8)), -15)
    run = json.loads(text)
    assert {key: told["run"][key] for key in run if key not in ("burials", "searchers")} == {
        key: value for key, value in run.items() if key not in ("burials", "searchers")
    }
    assert all(part[3] == f"{zlib.crc32(text):08X}" for part in parts)


def test_contract_the_examples_of_the_phone_are_read_here_too() -> None:
    told = json.loads(EXAMPLES.read_text())
    assert read_run_code(told["codes"]) == RunLine.model_validate(told["run"])


def test_contract_what_is_wrong_with_codes_is_said() -> None:
    codes = write_run_code(wide_run())
    other = write_run_code(wide_run().model_copy(update={"name": "Third run"}))
    for given, words in (
        (("https://example.org/",), "is not a code of a run"),
        ((codes[0].replace("CFR1", "CFR2"),), "newer version"),
        ((codes[0].replace("CFR1.1", "CFR1.²"),), "is not a code of a run"),
        ((codes[0][:200] + ("A" if codes[0][200] != "A" else "B") + codes[0][201:],), "not read correctly"),
        ((codes[0], *other[1:]), "different runs"),
        (codes[1:], "parts are missing: 1"),
        ((), "different runs"),
    ):
        with pytest.raises(BadInput, match=words):
            read_run_code(given)


def test_independent_route_codes_are_read_by_another_reader_tilted_blurred_pale_and_in_glare() -> None:
    # All four together: 30 degrees, contrast of 3:1, glare half-way to white, blur of a third of a square.
    codes = write_run_code(wide_run())
    for code in codes:
        squares, _ = dark_bars(code)
        assert read(seen(drawn(code), squares=squares)) == code
    assert read(drawn(codes[0])) == codes[0]
