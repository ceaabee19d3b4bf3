"""The plan of a ground to scale: grid, boundary, holes, marks, norths and a scale bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import cos, degrees, sin

import numpy as np
from numpy.typing import ArrayLike

from coldfield.drill.burial import Burial
from coldfield.drill.site import Point, Site
from coldfield.message import message, number
from coldfield.paper.drawing import EMBER, HAIR, INK, QUIET, SHADE, Frame, line, ring, words
from coldfield.paper.press import Block
from coldfield.words import say, word

FOOT_MM = 15.0
"""Strip below the ground for the scale bar and the north arrows."""


@dataclass(slots=True)
class Labels:
    """Words beside marks, placed if possible where they cover no mark and no other words."""

    taken: list[tuple[float, float, float, float]] = field(default_factory=list)

    def mark(self, place_mm: ArrayLike, reach: float = 1.6) -> None:
        """Keep words off a mark."""
        x, y = (float(v) for v in np.asarray(place_mm))
        self.taken.append((x - reach, y - reach, x + reach, y + reach))

    def beside(
        self, text: str, x: float, y: float, *, size: float = 7.5, bold: bool = False, colour: str = INK
    ) -> Block:
        """Return words near a mark."""
        wide, tall = len(text) * size * 0.215, size * 0.42
        spots = []
        for off in (2.4, 4.5, 7.5, 11.0):
            spots += [
                ("l", x + off, y), ("r", x - off, y), ("c", x, y - off), ("c", x, y + off),
                ("l", x + 0.7 * off, y - 0.8 * off), ("l", x + 0.7 * off, y + 0.8 * off),
                ("r", x - 0.7 * off, y - 0.8 * off), ("r", x - 0.7 * off, y + 0.8 * off),
            ]  # fmt: skip
        boxes = [_box(at, a, b, wide, tall) for at, a, b in spots]
        covered = [sum(_overlap(box, other) for other in self.taken) for box in boxes]
        best = int(np.argmin(covered))
        self.taken.append(boxes[best])
        at, a, b = spots[best]
        return words(text, (a, b), size=size, bold=bold, colour=colour, at=at)  # type: ignore[arg-type]


def _box(at: str, x: float, y: float, wide: float, tall: float) -> tuple[float, float, float, float]:
    west = {"l": x, "r": x - wide, "c": x - 0.5 * wide}[at]
    return (west, y - 0.5 * tall, west + wide, y + 0.5 * tall)


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    wide = min(one[2], other[2]) - max(one[0], other[0])
    tall = min(one[3], other[3]) - max(one[1], other[1])
    return max(wide, 0.0) * max(tall, 0.0)


def ground_shapes(site: Site, frame: Frame) -> list[Block]:
    """Return grid, boundary and holes, and below them the scale bar and north arrows."""
    return [*_grid(site, frame), *_edges(site, frame), *_scale_bar(frame), *_norths(site, frame)]


def _grid_step(frame: Frame) -> float:
    return next(
        step for step in (5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0) if step * frame.mm_per_m >= 12.0
    )


def _grid(site: Site, frame: Frame) -> list[Block]:
    """Lines at a round number of metres, with their figures at the edges of the drawing."""
    step = _grid_step(frame)
    east_m = frame.west_m + np.array([0.0, frame.width_mm]) / frame.mm_per_m
    north_m = frame.north_m - np.array([frame.height_mm, 0.0]) / frame.mm_per_m
    shapes = []
    for k in range(int(np.ceil(east_m[0] / step)), int(east_m[1] // step) + 1):
        x = float(frame.mm((k * step, 0.0))[0])
        shapes.append(line([(x, 4.0), (x, frame.height_mm)], colour=HAIR, width=0.12))
        if 6.0 < x < frame.width_mm - 6.0:
            shapes.append(words(say_number(k * step), (x, 2.0), size=6, colour=QUIET, at="c", patch=False))
    for k in range(int(np.ceil(north_m[0] / step)), int(north_m[1] // step) + 1):
        y = float(frame.mm((0.0, k * step))[1])
        if y < 4.0:
            continue
        shapes.append(line([(8.0, y), (frame.width_mm, y)], colour=HAIR, width=0.12))
        shapes.append(words(say_number(k * step), (7.0, y), size=6, colour=QUIET, at="r", patch=False))
    return shapes


def say_number(value: float) -> str:
    """Return a whole number in the current language."""
    return word("sheet.plain", n=number(value, 0))


def _edges(site: Site, frame: Frame) -> list[Block]:
    shapes = [line(frame.mm(site.boundary_m), width=0.5, closed=True)]
    shapes += [
        line(frame.mm(hole), width=0.3, dash="dashed", fill=SHADE, closed=True) for hole in site.holes_m
    ]
    return shapes


def _scale_bar(frame: Frame) -> list[Block]:
    """A bar of a round number of metres, half of it black."""
    most = 0.4 * frame.width_mm / frame.mm_per_m
    metres = max(m for m in (2, 5, 10, 20, 50, 100, 200, 500, 1000) if m <= most)
    wide, left, top = metres * frame.mm_per_m, 9.0, frame.height_mm + 6.0
    half = 0.5 * wide
    box = [(left, top), (left + wide, top), (left + wide, top + 1.8), (left, top + 1.8)]
    black = [(left, top), (left + half, top), (left + half, top + 1.8), (left, top + 1.8)]
    figures = [
        (0.0, "0"),
        (half, say_number(0.5 * metres) if metres > 2 else "1"),
        (wide, word("unit.m", n=str(metres))),
    ]
    return [
        line(box, width=0.25, closed=True),
        line(black, width=0.25, fill=INK, closed=True),
        *(words(text, (left + x, top + 4.4), size=6.5, at="c", patch=False) for x, text in figures),
        words(
            word("sheet.scale", scale=number(frame.scale, 0)),
            (left + wide + 6.0, top + 1.0),
            size=7.5,
            patch=False,
        ),
    ]


def _norths(site: Site, frame: Frame) -> list[Block]:
    """True north, and magnetic north if it is known, at the right of the strip."""
    x, low, tall = frame.width_mm - 30.0, frame.height_mm + 14.0, 10.0
    shapes = [
        line([(x, low), (x, low - tall)], width=0.4),
        line([(x - 1.2, low - tall + 2.6), (x, low - tall), (x + 1.2, low - tall + 2.6)], width=0.4),
        words(word("sheet.true_north"), (x - 2.0, low - 2.0), size=6.5, at="r", patch=False),
    ]
    if site.declination_rad is not None:
        turn = site.declination_rad
        tip = (x + tall * sin(turn), low - tall * cos(turn))
        shapes += [
            line([(x, low), tip], width=0.3, dash="dashed", colour=QUIET),
            words(
                word("sheet.magnetic_north", by=number(degrees(turn), 1)),
                (x + 3.5, low - 2.0), size=6.5, colour=QUIET, patch=False,
            ),
        ]  # fmt: skip
    return shapes


def mark_shapes(site: Site, frame: Frame, labels: Labels) -> list[Block]:
    """Return entry, last seen point and anchors, with their names."""
    spots: list[tuple[str, Point]] = [(word("picture.entry"), site.entry_m)]
    if site.last_seen_m is not None:
        spots.append((word("picture.last_seen"), site.last_seen_m))
    shapes = []
    for _, place in spots:
        labels.mark(frame.mm(place))
    for anchor in site.anchors:
        labels.mark(frame.mm(anchor.position_m), 2.0)
    for text, place in spots:
        x, y = (float(v) for v in frame.mm(place))
        shapes.append(
            line([(x - 1.3, y + 1.1), (x + 1.3, y + 1.1), (x, y - 1.3)], fill=INK, width=0.2, closed=True)
        )
        shapes.append(labels.beside(text, x, y, size=7, colour=QUIET))
    for anchor in site.anchors:
        x, y = (float(v) for v in frame.mm(anchor.position_m))
        shapes += [
            line([(x - 1.8, y), (x + 1.8, y)], width=0.5),
            line([(x, y - 1.8), (x, y + 1.8)], width=0.5),
            ring((x, y), 1.2, width=0.35),
            labels.beside(short(anchor.name), x, y, size=7.5),
        ]
    return shapes


def burial_shapes(burials: Sequence[Burial], frame: Frame, labels: Labels) -> list[Block]:
    """Return each burial as a rod along its antenna, with its name."""
    shapes = []
    for one in burials:
        labels.mark(frame.mm(one.position_m), 2.0)
    for one in burials:
        x, y = (float(v) for v in frame.mm(one.position_m))
        if one.transmitter is not None:
            reach = 3.0 * cos(one.antenna.tilt_rad)
            dx, dy = reach * sin(one.antenna.azimuth_rad), -reach * cos(one.antenna.azimuth_rad)
            shapes.append(line([(x - dx, y - dy), (x + dx, y + dy)], colour=EMBER, width=0.7))
        shapes += [
            ring((x, y), 1.0, fill=EMBER, width=0.2),
            labels.beside(short(one.id), x, y, size=9, bold=True),
        ]
    return shapes


def short(name: str, most: int = 22) -> str:
    """Return a name for the plan, shortened if it is long; the tables show it in full."""
    return name if len(name) <= most else name[: most - 1].rstrip() + "…"


def norths_in_words(site: Site) -> str:
    """Return how true and magnetic bearings differ, in words."""
    if site.declination_rad is None:
        return say(message("sheet.no_declination"))
    return say(message("sheet.declination", by=number(degrees(site.declination_rad), 1)))
