"""Write fonts with one glyph: the typeface's zero without its slash, which is kept for fields to type in.

python design/write_zero.py FOLDER OF THE TYPEFACE'S FILES, FOLDER FOR zero-400.woff AND zero-700.woff
"""

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables._g_l_y_f import Glyph, GlyphCoordinates

ZERO = 0x30


def without_slash(font: TTFont, name: str) -> Glyph:
    """Return a zero whose counter is as wide and as high as both halves beside the slash together.

    Its outline is that of the glyph, made smaller and turned the other way round.
    """
    glyph = font["glyf"][name]
    points, ends = list(glyph.coordinates), glyph.endPtsOfContours
    outer, halves = points[: ends[0] + 1], points[ends[0] + 1 :]
    inner = [counter(outer, halves, axis) for axis in (0, 1)]
    glyph.coordinates = GlyphCoordinates([*outer, *zip(*(axis[::-1] for axis in inner), strict=True)])
    glyph.flags = glyph.flags[: len(outer)] + glyph.flags[: len(outer)][::-1]
    glyph.endPtsOfContours = [ends[0], 2 * len(outer) - 1]
    glyph.numberOfContours = 2
    glyph.recalcBounds(font["glyf"])
    return glyph


def counter(outer: list[tuple[int, int]], halves: list[tuple[int, int]], axis: int) -> list[int]:
    """Return one coordinate of the outline, moved and shrunk to the extent of the halves."""
    (low, high), (first, last) = (
        (min(p[axis] for p in points), max(p[axis] for p in points)) for points in (outer, halves)
    )
    return [round(first + (p[axis] - low) * (last - first) / (high - low)) for p in outer]


def write_zero(source: Path, target: Path) -> None:
    """Write the font of one glyph, and of its variant as wide as every figure, made from a font's zero."""
    font = TTFont(source)
    options = subset.Options(layout_features=["tnum"], hinting=False, name_IDs=[], notdef_outline=False)
    only = subset.Subsetter(options)
    only.populate(unicodes=[ZERO])
    only.subset(font)
    for name in font.getGlyphOrder():
        if font["glyf"][name].numberOfContours > 1:
            without_slash(font, name)
    font.flavor = "woff"
    font.save(target, reorderTables=True)


if __name__ == "__main__":
    for weight in ("400", "700"):
        write_zero(
            Path(sys.argv[1]) / f"atkinson-hyperlegible-latin-{weight}-normal.woff",
            Path(sys.argv[2]) / f"zero-{weight}.woff",
        )
