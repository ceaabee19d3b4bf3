"""Draw docs/layers.svg from the import contract in pyproject.toml. Run: python design/draw_layers.py."""

from __future__ import annotations

import tomllib
from pathlib import Path

from matplotlib.patches import Rectangle

from coldfield.pictures.style import TOKENS, figure, picture

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "coldfield"
WORDS = {
    "cli": "thin commands",
    "web": "pages and routes, thin",
    "app": "use cases: join nouns, maths, store, clock, seed",
    "records": "what is kept over seasons",
    "paper": "setup sheet, lane card, hand-outs",
    "files": "text and bytes to nouns",
    "pictures": "plans, maps, charts",
    "coaching": "what to practise next",
    "debrief": "tracks to phases and findings",
    "kit": "group check, range test",
    "rescue": "searchers, digging, rehearsal",
    "search": "strip width, lanes, probing",
    "beacon": "457 kHz: field, receiver, flux line",
    "survival": "published curves",
    "drill": "the nouns, frozen, SI",
    "errors": "what can go wrong",
    "words": "catalogues: a folder for each language",
    "message": "what is said, as code and values",
    "shipped_loops": "compiled loops that come with the package",
    "compiled_place": "where compiled loops are kept",
}


def layers() -> list[list[str]]:
    """Return the layers from top to bottom, siblings in one list."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text())
    contract = config["tool"]["importlinter"]["contracts"][0]
    named = [[name.strip(" ()") for name in row.replace(":", "|").split("|")] for row in contract["layers"]]
    there = [
        [name for name in row if (SOURCE / name).is_dir() or (SOURCE / f"{name}.py").is_file()]
        for row in named
    ]
    return [row for row in there if row]


def draw() -> bytes:
    """Return the picture as SVG."""
    token = TOKENS["light"]
    rows = layers()
    drawn = figure(width_cm=18, height_cm=0.95 * len(rows) + 1.0)
    axes = drawn.add_subplot()
    axes.set_axis_off()
    axes.set_xlim(0, 1)
    axes.set_ylim(-len(rows), 0.6)
    pure = {
        "coaching",
        "debrief",
        "kit",
        "rescue",
        "search",
        "beacon",
        "survival",
        "drill",
        "errors",
        "message",
    }
    for i, row in enumerate(rows):
        width = 1.0 / len(row)
        for j, name in enumerate(row):
            face = token["sheet"] if name in pure else token["paper"]
            x, y = j * width, -i - 0.9
            axes.add_patch(_box(x + 0.005, y, width - 0.01, 0.8, face, token["hair"]))
            axes.text(x + 0.02, y + 0.4, name, va="center", fontsize=10, color=token["ink"], weight="bold")
            beside = x + max(0.14, 0.04 + 0.0115 * len(name))
            axes.text(beside, y + 0.4, WORDS[name], va="center", fontsize=8, color=token["quiet"])
    axes.text(
        0.005,
        0.2,
        "Imports go down only. White: maths, no disk, clock or door.",
        fontsize=9,
        color=token["ink"],
    )
    return picture(drawn, "svg")


def _box(x: float, y: float, width: float, height: float, face: str, edge: str) -> Rectangle:
    return Rectangle((x, y), width, height, facecolor=face, edgecolor=edge, linewidth=1)


if __name__ == "__main__":
    (ROOT / "docs" / "layers.svg").write_bytes(draw())
