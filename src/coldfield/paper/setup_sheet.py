"""The setup sheet for the person who hides the sets."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees

import numpy as np

from coldfield.drill.burial import Burial
from coldfield.drill.cautions import ENDING, GROUND, HIDING
from coldfield.drill.drill import Drill
from coldfield.drill.ground_screen import WINDS
from coldfield.drill.site import Site
from coldfield.drill.tape import FARTHEST_TAPE_M, GOOD_M, TAPE_OUT_M, Fix, Tape, better_anchor, fix
from coldfield.errors import BadInput
from coldfield.files.carried_picture import Under
from coldfield.files.code_picture import dark_bars
from coldfield.message import Message, angle, length, message, number
from coldfield.paper import blocks
from coldfield.paper.blocks import TICK, Cell
from coldfield.paper.drawing import QUIET, frame_of, line, words
from coldfield.paper.ground_plan import (
    FOOT_MM,
    Labels,
    burial_shapes,
    ground_shapes,
    mark_shapes,
    norths_in_words,
)
from coldfield.paper.press import MARGIN_MM, SIZES_MM, Block, Paper
from coldfield.paper.under_plan import PAPER_BYTES, picture_shape
from coldfield.search.lanes.hiding_way import HidingWay, hiding_way
from coldfield.words import say, word

PACE_M = 0.75
"""Length of a pace on foot in snow if nobody gave their own. Setting."""

UPRIGHT_DEG, LEVEL_DEG = 75.0, 10.0
"""An antenna steeper than the first is called upright, one flatter than the second level. Settings."""

TALL_MM, MOST_TALL = 26.0, 4
"""Height of a row for writing, and the burials up to which it applies; more share the rest of the page."""

MOST_BESIDE = 6
"""Up to this number of burials the table of places is below the plan; more get their own page."""

CAUTIONS_MM = 30.0
"""Height of cautions and codes below a plan, beyond that of a short table."""

REST_MM, ROW_MM, LINE_MM = 56.0, 5.4, 3.1
"""Heights apart from the plan: everything else, a row of one line, another small line."""


def setup_blocks(
    drill: Drill,
    *,
    codes: Sequence[str],
    paper: Paper = "a4",
    pace_m: float = PACE_M,
    under: Under | None = None,
    most_picture_bytes: int = PAPER_BYTES,
) -> list[Block]:
    """Return the blocks of the setup sheet.

    Parameters
    ----------
    codes : sequence of str
        The run for the clock, as printed codes.
    pace_m : float
        Length of a pace, m, 0.3 to 1.5.
    under : Under, optional
        The picture of the ground under the plan.
    most_picture_bytes : int
        How much it may add.

    Raises
    ------
    BadInput
        If the drill has no anchor or no burial, if the pace is impossible, or if burials or anchors
        coincide.
    """
    refuse(drill, pace_m)
    fixes = [found for one in drill.burials if (found := fix(drill.site, one.position_m)) is not None]
    way = hiding_way(drill.site, tuple(one.position_m for one in drill.burials))
    where = [
        blocks.heading(word("sheet.where")),
        where_table(drill, fixes, pace_m),
        blocks.text(" ".join(_words(fix_words(drill, fixes))), size=8, bold=True),
    ]
    cautions = [
        blocks.heading(word("sheet.cautions")),
        blocks.side_by_side(
            [[blocks.items(_words([*GROUND, *HIDING, *ENDING]))], code_blocks(codes)],
            ["1fr", 46.0 if len(codes) < 2 else 92.0],
        ),
    ]
    order = [
        blocks.heading(word("sheet.order")),
        blocks.text(order_words(drill, way), size=8.5),
        how_table(drill, way),
        *(blocks.notes(word("sheet.notes"), lines=8) if len(drill.burials) <= MOST_TALL else []),
    ]
    parts = [
        blocks.title(drill.name, word("sheet.for_whom")),
        plan_block(drill, way, paper=paper, under=under, most_picture_bytes=most_picture_bytes),
        blocks.text(" ".join([norths_in_words(drill.site), *_words(_about_tapes(drill.site))]), size=7.5),
    ]
    if len(drill.burials) <= MOST_BESIDE:
        return [*parts, *where, blocks.NEW_PAGE, *cautions, *order]
    return [*parts, *cautions, blocks.NEW_PAGE, *where, blocks.NEW_PAGE, *order]


def refuse(drill: Drill, pace_m: float) -> None:
    """Raise an error with all faults at once if no sheet can be made."""
    faults = []
    if not drill.site.anchors:
        faults.append(message("fault.sheet_no_anchors").at("site.anchors"))
    if not drill.burials:
        faults.append(message("fault.sheet_no_burials").at("burials"))
    if not 0.3 <= pace_m <= 1.5:
        faults.append(message("fault.pace", low=number(0.3), high=number(1.5)).at("pace_m"))
    if faults:
        raise BadInput(faults)


def _words(said: Sequence[Message]) -> list[str]:
    return [say(one) for one in said]


def plan_block(
    drill: Drill,
    way: HidingWay,
    *,
    paper: Paper,
    under: Under | None = None,
    most_picture_bytes: int = PAPER_BYTES,
) -> Block:
    """Return the plan to scale, as large as the tables below it allow."""
    wide, tall = SIZES_MM[paper]
    width = wide - 2 * MARGIN_MM
    site = drill.site
    long = any(len(anchor.name) > 8 for anchor in site.anchors)
    row = ROW_MM + LINE_MM * (2 if site.slope_rad > 0.0 or long else 1) + (2 * LINE_MM if long else 0.0)
    table = CAUTIONS_MM if len(drill.burials) > MOST_BESIDE else row * (len(drill.burials) + 1)
    room = tall - MARGIN_MM - 17.0 - REST_MM - table - FOOT_MM
    seen = [
        *site.boundary_m,
        site.entry_m,
        *(a.position_m for a in site.anchors),
        *(b.position_m for b in drill.burials),
    ]
    if site.last_seen_m is not None:
        seen.append(site.last_seen_m)
    frame = frame_of(seen, width_mm=width, most_height_mm=max(room, 70.0))
    labels = Labels()
    marks = mark_shapes(site, frame, labels)
    burials = burial_shapes(drill.burials, frame, labels)
    shapes = [
        *([picture_shape(under, frame, most_bytes=most_picture_bytes)] if under is not None else []),
        *ground_shapes(site, frame),
        line(frame.mm(way.line_m), colour=QUIET, width=0.25, dash="dashed"),
        *(_step(frame.mm(drill.burials[k].position_m), way.order.index(k) + 1) for k in way.order),
        *marks,
        *burials,
    ]
    alt = word("sheet.plan_alt", name=drill.name, n=len(drill.burials), scale=number(frame.scale, 0))
    return blocks.drawing(shapes, width_mm=width, height_mm=frame.height_mm + FOOT_MM, alt=alt)


def _step(place_mm: np.ndarray, number_: int) -> Block:
    return words(
        str(number_),
        (float(place_mm[0]), float(place_mm[1]) + 2.0),
        size=6,
        colour=QUIET,
        at="t",
        patch=False,
    )


def _about_tapes(site: Site) -> list[Message]:
    said = [message("sheet.tape_on_snow")]
    if site.slope_rad > 0.0:
        said.append(message("sheet.slope", slope=angle(degrees(site.slope_rad))))
    return said


def where_table(drill: Drill, fixes: Sequence[Fix], pace_m: float) -> Block:
    """Return how to find each place: two tapes, bearing with distance, paces, and the possible error."""
    rows: list[list[Cell]] = []
    for one, found in zip(drill.burials, fixes, strict=True):
        rows.append(
            [
                blocks.two_lines(one.id, ""),
                _tape(drill.site, found.first, first=None),
                _tape(drill.site, found.second, first=found),
                _bearing(drill.site, found.near),
                word("sheet.paces", n=round(found.near.snow_m / pace_m)),
                _off(found),
            ]
        )
    head = [
        word("sheet.burial"), word("sheet.first_tape"), word("sheet.second_tape"), word("sheet.bearing"),
        word("sheet.paces_of", pace=number(100 * pace_m, 0)), word("sheet.off", out=number(TAPE_OUT_M, 1)),
    ]  # fmt: skip
    columns: list[blocks.Column] = ["1fr", "2fr", "2.3fr", "3fr", "1.3fr", "1.7fr"]
    return blocks.table(head, rows, columns=columns, pad=1.0)


def _tape(site: Site, one: Tape | None, first: Fix | None) -> Cell:
    if one is None:
        return word("sheet.one_anchor")
    words_ = word("sheet.from_anchor", length=length(one.snow_m, 1), anchor=site.anchors[one.anchor].name)
    under = (
        [word("sheet.beyond_tape", length=length(FARTHEST_TAPE_M, 0))] if one.snow_m > FARTHEST_TAPE_M else []
    )
    if abs(one.snow_m - one.plan_m) >= 0.05:
        under.append(word("sheet.in_plan", length=length(one.plan_m, 1)))
    if first is not None and first.side is not None and first.first is not None:
        start, end = (site.anchors[t.anchor].name for t in (first.first, one))
        code = message("sheet.side_left", start=start, end=end)
        if first.side == "right":
            code = message("sheet.side_right", start=start, end=end)
        under.append(say(code))
    return blocks.two_lines(words_, "; ".join(under))


def _bearing(site: Site, one: Tape) -> Cell:
    true = degrees(one.azimuth_rad) % 360.0
    name = site.anchors[one.anchor].name
    told = word("sheet.on_bearing", bearing=number(true, 0), length=length(one.snow_m, 1), anchor=name)
    if site.declination_rad is None:
        return blocks.two_lines(told, "")
    magnetic = (true - degrees(site.declination_rad)) % 360.0
    return blocks.two_lines(told, word("sheet.by_compass", bearing=number(magnetic, 0)))


def _off(found: Fix) -> str:
    if found.off_m is None:
        return word("sheet.no_fix")
    code = message("sheet.off_by", off=length(found.off_m, 1))
    return say(code) if found.good else say(message("sheet.off_poor", off=length(found.off_m, 1)))


def fix_words(drill: Drill, fixes: Sequence[Fix]) -> list[Message]:
    """Return whether the anchors fix the places well, and where another one would help."""
    poor = tuple(one.id for one, found in zip(drill.burials, fixes, strict=True) if not found.good)
    if not poor:
        return [message("sheet.fix_good", most=length(GOOD_M, 1))]
    said = [message("sheet.fix_poor", burials=poor, most=length(GOOD_M, 1))]
    better = better_anchor(drill.site, [one.position_m for one in drill.burials])
    if better is not None:
        east, north = (number(v, 0) for v in better.position_m)
        said.append(message("sheet.better_anchor", east=east, north=north, off=length(better.worst_off_m, 1)))
    return said


def lying(one: Burial) -> str:
    """Return the direction of an antenna in words."""
    if one.transmitter is None:
        return word("sheet.no_set")
    tilt = degrees(one.antenna.tilt_rad)
    if abs(tilt) >= UPRIGHT_DEG:
        return word("burial.upright")
    azimuth = degrees(one.antenna.azimuth_rad + (np.pi if tilt < 0 else 0.0)) % 360.0
    if abs(tilt) <= LEVEL_DEG:
        return say(message("burial.level", axis=_axis(azimuth)))
    return say(
        message(
            "sheet.tilted",
            tilt=angle(abs(tilt)),
            way=WINDS[round(azimuth / 45.0) % 8],
            bearing=number(azimuth, 0),
        )
    )


_AXES = (
    message("axis.0"), message("axis.1"), message("axis.2"), message("axis.3"),
    message("axis.4"), message("axis.5"), message("axis.6"), message("axis.7"),
)  # fmt: skip


def _axis(azimuth_deg: float) -> Message:
    return _AXES[round(azimuth_deg / 22.5) % 8]


def order_words(drill: Drill, way: HidingWay) -> str:
    """Return the order of hiding and the route, in words."""
    ids = tuple(drill.burials[k].id for k in way.order)
    return word("sheet.order_words", order=ids, way=length(way.length_m))


def how_table(drill: Drill, way: HidingWay) -> Block:
    """Return the order and manner of hiding each set, with space for notes by hand."""
    rows: list[list[Cell]] = []
    for step, k in enumerate(way.order, start=1):
        one = drill.burials[k]
        bag = word("sheet.bag_person") if one.outline == "person" else word("sheet.bag_sack")
        rows.append(
            [
                str(step),
                blocks.two_lines(one.id, one.set_label or ""),
                blocks.two_lines(word("sheet.deep", depth=length(one.depth_m, 1)), lying(one)),
                bag,
                TICK if one.transmitter is not None else None,
                blocks.to_fill_in([word("sheet.by"), word("sheet.time")]),
                blocks.to_fill_in(
                    [word("sheet.blank_tapes"), word("sheet.blank_depth"), word("sheet.blank_way")]
                ),
                TICK,
            ]
        )
    head = [
        "", word("sheet.burial"), word("sheet.how"), word("sheet.bag"), word("sheet.sends"),
        word("sheet.signed_out"), word("sheet.really_lay"), word("sheet.counted_in"),
    ]  # fmt: skip
    columns: list[blocks.Column] = [6.0, "1fr", "2.4fr", "1.6fr", 13.0, "1.9fr", "3fr", 15.0]
    few = len(rows) <= MOST_TALL
    return blocks.table(head, rows, columns=columns, fill=not few, tall_mm=TALL_MM if few else None, pad=1.2)


def code_blocks(codes: Sequence[str]) -> list[Block]:
    """Return the printed codes of the run, with their purpose."""
    made = []
    for code in codes:
        made.append(code_drawing(code, 42.0))
    shown = [blocks.side_by_side([[one] for one in made], ["1fr"] * len(made))] if len(made) > 1 else made
    return [*shown, blocks.text(word("sheet.code", n=len(codes)), size=7)]


def code_drawing(code: str, width_mm: float) -> Block:
    """Return a code for phones (QR, level M) as rows of dark squares."""
    squares, bars = dark_bars(code)
    size = width_mm / squares
    shapes = []
    for row, start, end in bars:
        left, right, top = start * size, end * size, row * size
        corners = [(left, top), (right, top), (right, top + size), (left, top + size)]
        shapes.append(line(corners, width=None, fill="#000000", closed=True))
    return blocks.drawing(shapes, width_mm=width_mm, height_mm=width_mm, alt=word("sheet.code_alt"))
