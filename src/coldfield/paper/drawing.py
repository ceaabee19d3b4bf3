"""A plan in millimetres on paper: lines and words for both the PDF and the page for the phone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coldfield.paper.press import Block

SCALES = (100, 200, 250, 300, 400, 500, 600, 750, 800, 1000, 1250, 1500, 2000, 2500, 5000, 10000)
"""Scales of plans, such as 1 : 500; the largest one that fits is used."""

INK, QUIET, HAIR, EMBER, SHADE = "#1B2430", "#5C6673", "#CFC9BC", "#B8431A", "#DDD9D0"
At = Literal["l", "c", "r", "t", "b"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """How a site's metres map to paper: `scale` as in 1 : scale, north up, a margin round the ground."""

    scale: int
    west_m: float
    north_m: float
    width_mm: float
    height_mm: float

    @property
    def mm_per_m(self) -> float:
        """Return the millimetres on paper for one metre."""
        return 1000.0 / self.scale

    def mm(self, place_m: ArrayLike) -> NDArray[np.float64]:
        """Return places in plan, (..., 2), m, as millimetres from the left and the top."""
        xy = np.asarray(place_m, dtype=np.float64)
        right, down = xy[..., 0] - self.west_m, self.north_m - xy[..., 1]
        return np.stack([right, down], axis=-1) * self.mm_per_m


def frame_of(places_m: ArrayLike, *, width_mm: float, most_height_mm: float, margin_mm: float = 8.0) -> Frame:
    """Return the frame of the largest scale at which all places, (n, 2), fit; it is no higher than needed."""
    xy = np.asarray(places_m, dtype=np.float64).reshape(-1, 2)
    low, high = xy.min(axis=0), xy.max(axis=0)
    wide, tall = np.maximum(high - low, 1.0)
    fits = [
        scale
        for scale in SCALES
        if wide * 1000 / scale <= width_mm - 2 * margin_mm
        and tall * 1000 / scale <= most_height_mm - 2 * margin_mm
    ]
    scale = fits[0] if fits else 50_000
    height = tall * 1000 / scale + 2 * margin_mm
    left = 0.5 * (width_mm * scale / 1000 - wide)
    return Frame(
        scale=scale,
        west_m=float(low[0] - left),
        north_m=float(high[1] + margin_mm * scale / 1000),
        width_mm=width_mm,
        height_mm=float(height),
    )


def line(
    points_mm: ArrayLike,
    *,
    colour: str = INK,
    width: float | None = 0.3,
    dash: str | None = None,
    fill: str | None = None,
    closed: bool = False,
) -> Block:
    """Return a line or an area; points (n, 2), mm."""
    points = np.round(np.asarray(points_mm, dtype=np.float64), 3).tolist()
    return {"kind": "line", "points": points, "colour": colour, "width": width, "dash": dash, "fill": fill,
            "closed": closed}  # fmt: skip


def words(
    text: str,
    place_mm: Sequence[float],
    *,
    size: float = 7.5,
    colour: str = INK,
    bold: bool = False,
    at: At = "l",
    patch: bool = True,
) -> Block:
    """Return words at a place, mm; `at` says which side of them is there, `size` is in points."""
    x, y = (round(float(v), 3) for v in place_mm)
    return {"kind": "words", "text": text, "x": x, "y": y, "size": size, "colour": colour, "bold": bold,
            "at": at, "patch": patch}  # fmt: skip


def ring(
    centre_mm: Sequence[float], radius_mm: float, *, fill: str | None = None, width: float = 0.4
) -> Block:
    """Return a circle."""
    turn = np.linspace(0.0, 2.0 * np.pi, 25)[:-1]
    points = np.asarray(centre_mm) + radius_mm * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    return line(points, width=width, fill=fill, closed=True)


_ANCHORS = {"l": "start", "r": "end", "c": "middle", "t": "middle", "b": "middle"}
_BASE = {"l": "central", "r": "central", "c": "central", "t": "hanging", "b": "auto"}


def svg(block: Block) -> str:
    """Return a drawing block as SVG for a page, as wide as the page allows."""
    parts = []
    for s in block["shapes"]:
        if s["kind"] == "line":
            way = "M" + "L".join(f"{x},{y}" for x, y in s["points"]) + ("Z" if s["closed"] else "")
            stroke = f'stroke="{s["colour"]}" stroke-width="{s["width"]}"' if s["width"] else ""
            dashed = ' stroke-dasharray="2 1"' if s["dash"] else ""
            parts.append(f'<path d="{way}" fill="{s["fill"] or "none"}" {stroke}{dashed}/>')
        elif s["kind"] == "picture":
            parts.append(
                f'<image href="data:image/jpeg;base64,{s["jpeg"]}" width="{s["wide"]}" height="{s["tall"]}"/>'
            )
        else:
            parts.append(
                f'<text x="{s["x"]}" y="{s["y"]}" font-size="{s["size"] * 0.3528:.2f}" fill="{s["colour"]}" '
                f'text-anchor="{_ANCHORS[s["at"]]}" dominant-baseline="{_BASE[s["at"]]}" '
                f'paint-order="stroke" stroke="#FFFFFF" stroke-width="0.6" '
                f'font-weight="{"700" if s["bold"] else "400"}">{escape(s["text"])}</text>'
            )
    size = f'viewBox="0 0 {block["width"]} {block["height"]}"'
    return f'<svg {size} role="img" aria-label="{escape(block["alt"])}">{"".join(parts)}</svg>'
