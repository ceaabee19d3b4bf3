"""One look for every picture: the colours, lines and type of the survey sheet.

The page's style sheet has the same tokens; a test compares the two.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Theme = Literal["light", "dark"]

TOKENS: dict[Theme, dict[str, str]] = {
    "light": {
        "paper": "#F6F4EE",
        "sheet": "#FFFFFF",
        "ink": "#1B2430",
        "quiet": "#5C6673",
        "hair": "#D9D3C6",
        "ember": "#B8431A",
        "moss": "#2F6B4F",
        "straw": "#8A6A00",
    },
    "dark": {
        "paper": "#14181D",
        "sheet": "#1C2229",
        "ink": "#EEF0EC",
        "quiet": "#A4AEB9",
        "hair": "#333C46",
        "ember": "#F08A5D",
        "moss": "#7CC3A0",
        "straw": "#E3C565",
    },
}
PEOPLE = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00", "#8A6A00", "#1B2430")
"""Okabe-Ito hues (yellow replaced: unreadable on white), one per person; each also has its own dash."""
DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (6, 2),
    (2, 2),
    (8, 2, 2, 2),
    (4, 1),
    (1, 1),
    (10, 3),
    (3, 3, 1, 3),
)
PHASES = {"signal": "#C9D6DF", "coarse": "#9DB4C4", "fine": "#6F8FA6", "probe": "#456A85", "dig": "#1E4560"}
"""Five values of one ramp, always labelled in place."""
SIGNAL = "cividis"


def figure(*, width_cm: float = 18.0, height_cm: float = 12.0, theme: Theme = "light") -> Figure:
    """Return an empty figure in the project's look; sizes in cm. It needs no window."""
    from matplotlib.figure import Figure

    drawn = Figure(figsize=(width_cm / 2.54, height_cm / 2.54), layout="constrained")
    drawn.set_facecolor(TOKENS[theme]["paper"])
    return drawn


def dress(axes: Axes, *, theme: Theme = "light", grid: bool = True) -> Axes:
    """Give axes the sheet's colours, hair lines and type; return them."""
    token = TOKENS[theme]
    axes.set_facecolor(token["sheet"])
    for spine in axes.spines.values():
        spine.set_color(token["hair"])
        spine.set_linewidth(0.8)
    axes.tick_params(colors=token["quiet"], labelsize=8, width=0.8, length=3)
    axes.xaxis.label.set_color(token["ink"])
    axes.yaxis.label.set_color(token["ink"])
    axes.xaxis.label.set_fontsize(9)
    axes.yaxis.label.set_fontsize(9)
    axes.title.set_color(token["ink"])
    axes.title.set_fontsize(11)
    if grid:
        axes.grid(True, color=token["hair"], linewidth=0.5)
        axes.set_axisbelow(True)
    return axes


def picture(drawn: Figure, kind: Literal["svg", "png"], *, dpi: int = 160) -> bytes:
    """Return a figure as the bytes of an SVG or PNG file, without a date in it."""
    from matplotlib import rc_context

    out = io.BytesIO()
    with rc_context({"svg.hashsalt": "coldfield", "svg.fonttype": "path", "font.family": "DejaVu Sans"}):
        metadata = {"Date": None} if kind == "svg" else {"Software": "coldfield"}
        drawn.savefig(out, format=kind, dpi=dpi, facecolor=drawn.get_facecolor(), metadata=metadata)
    return out.getvalue()
