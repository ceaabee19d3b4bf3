"""A text as a code for cameras (QR, level M), drawn as dark bars on a light ground."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

QUIET = 4
"""Light squares around a code (ISO/IEC 18004, from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CodePicture:
    """A code: `size` squares wide and high including its light margin; the dark squares as an SVG `path`."""

    size: int
    path: str


def dark_bars(text: str) -> tuple[int, list[tuple[int, int, int]]]:
    """Return the width of a text's code in squares, including the margin, and its bars: row, start, end."""
    import segno

    made = segno.make_qr(text, error="m", boost_error=False)
    rows = [list(row) for row in made.matrix]
    bars = [
        (y + QUIET, start + QUIET, end + QUIET) for y, row in enumerate(rows) for start, end in _runs(row)
    ]
    return len(rows) + 2 * QUIET, bars


def code_picture(text: str) -> CodePicture:
    """Return the code of a text for drawing on a page."""
    size, bars = dark_bars(text)
    return CodePicture(size=size, path="".join(f"M{a} {y}h{b - a}v1h{a - b}z" for y, a, b in bars))


def _runs(row: list[int]) -> Iterator[tuple[int, int]]:
    start = None
    for x, dark in enumerate([*row, 0]):
        if dark and start is None:
            start = x
        elif not dark and start is not None:
            yield start, x
            start = None
