"""The parts of a sheet; `page.typ` defines how each looks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from coldfield.paper.press import Block

Cell = str | None | dict[str, Any]
"""Words, nothing, or the result of `two_lines` or `to_fill_in`."""
Column = float | str
"""Width of a column: mm, 'auto', or a share such as '2fr'."""

TICK = "[]"
"""A box to tick by hand."""


def title(text: str, sub: str = "") -> Block:
    """Return the name of a sheet, with a line below it."""
    return {"kind": "title", "text": text, "sub": sub}


def heading(text: str) -> Block:
    """Return the heading of a part."""
    return {"kind": "heading", "text": text}


def text(words: str, *, size: float = 8.5, bold: bool = False) -> Block:
    """Return a paragraph; `size` in points."""
    return {"kind": "text", "text": words, "size": size, "bold": bold}


def items(words: Sequence[str]) -> Block:
    """Return a list of sentences."""
    return {"kind": "list", "items": list(words)}


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    *,
    columns: Sequence[Column] | None = None,
    right: Sequence[int] = (),
    pad: float = 1.3,
    fill: bool = False,
    tall_mm: float | None = None,
) -> Block:
    """Return a table whose rows never break across pages.

    Parameters
    ----------
    columns : sequence of Column, optional
        By default as wide as their content; the last one takes the rest.
    right : sequence of int
        Columns with right-aligned values.
    pad : float
        Space above and below each value, mm.
    fill : bool
        Whether the rows share the rest of the page, for writing by hand.
    tall_mm : float, optional
        The same height for every row, for writing by hand.
    """
    widths = list(columns) if columns else ["auto"] * (len(head) - 1) + ["1fr"]
    made = [list(row) for row in rows]
    return {
        "kind": "table", "head": list(head), "rows": made, "columns": widths, "right": list(right),
        "pad": pad, "fill": fill, "tall": tall_mm,
    }  # fmt: skip


def two_lines(words: str, under: str) -> Cell:
    """Return a cell with a smaller line below."""
    return {"text": words, "under": under}


def to_fill_in(labels: Sequence[str]) -> Cell:
    """Return a cell with a line to write on for each label, spread over the height of the row."""
    return {"blanks": list(labels)}


def notes(heading_: str, *, lines: int) -> list[Block]:
    """Return empty lines to write on that fill the rest of the page."""
    return [heading(heading_), table(["", ""], [[None, None]] * lines, columns=[1.0, "1fr"], fill=True)]


def rest(heading_: str = "", *, reserve_mm: float = 0.0) -> Block:
    """Return empty lines to write on in the rest of a page; nothing if fewer than three fit.

    `reserve_mm` is left free for the blocks below.
    """
    return {"kind": "rest", "text": heading_, "reserve": reserve_mm}


def drawing(shapes: Sequence[Block], *, width_mm: float, height_mm: float, alt: str) -> Block:
    """Return a drawing to scale; `alt` describes it for people who cannot see it."""
    return {"kind": "drawing", "shapes": list(shapes), "width": width_mm, "height": height_mm, "alt": alt}


def side_by_side(parts: Sequence[Sequence[Block]], columns: Sequence[Column]) -> Block:
    """Return blocks in columns side by side."""
    return {"kind": "side", "parts": [list(part) for part in parts], "columns": list(columns)}


def keep(parts: Sequence[Block]) -> Block:
    """Return blocks that stay on one page."""
    return {"kind": "keep", "parts": list(parts)}


def signs(names: Sequence[str]) -> Block:
    """Return lines to sign on, each with the text to be signed."""
    return {"kind": "signs", "names": list(names)}


def gap(height_mm: float) -> Block:
    """Return empty space."""
    return {"kind": "gap", "height": height_mm}


NEW_PAGE: Block = {"kind": "break"}
