"""The clock's icon on a phone: contour lines of a snowfield and one place on it."""

from __future__ import annotations

import io

from coldfield.pictures.style import TOKENS

_RINGS = (0.40, 0.30, 0.20)
_FLAT = 0.72
_PLACE = (0.58, 0.44, 0.07)


def icon_svg() -> str:
    """Return the icon as SVG, one unit wide."""
    token = TOKENS["light"]
    rings = "".join(
        f'<ellipse cx=".5" cy=".5" rx="{r:g}" ry="{r * _FLAT:g}" fill="none" stroke="{token["ink"]}" '
        'stroke-width=".028"/>'
        for r in _RINGS
    )
    x, y, r = _PLACE
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1">'
        f'<rect width="1" height="1" fill="{token["paper"]}"/>{rings}'
        f'<circle cx="{x}" cy="{y}" r="{r}" fill="{token["ember"]}"/></svg>'
    )


def icon_png(size_px: int) -> bytes:
    """Return the icon as PNG in the requested size."""
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle, Ellipse

    token = TOKENS["light"]
    drawn = Figure(figsize=(size_px / 100, size_px / 100), dpi=100, facecolor=token["paper"])
    axes = drawn.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, 1), ylim=(1, 0))
    axes.set_axis_off()
    width_pt = 0.028 * size_px * 0.72
    for r in _RINGS:
        axes.add_patch(
            Ellipse((0.5, 0.5), 2 * r, 2 * r * _FLAT, fill=False, edgecolor=token["ink"], linewidth=width_pt)
        )
    x, y, r = _PLACE
    axes.add_patch(Circle((x, y), r, color=token["ember"]))
    out = io.BytesIO()
    drawn.savefig(out, format="png", metadata={"Software": None})
    return out.getvalue()
