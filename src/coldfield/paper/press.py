"""Blocks to PDF: one template, one style, embedded fonts, tagged for screen readers (PDF/UA-1)."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from importlib.resources import files as resources
from pathlib import Path
from typing import Any, Literal

from coldfield.message import Message
from coldfield.pictures.style import TOKENS
from coldfield.words import languages, say
from coldfield.words.saying import spoken_now

Paper = Literal["a4", "us-letter"]

SIZES_MM: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}
MARGIN_MM = 14.0
"""On all sides; printers can print up to there."""

FONT = "DejaVu Sans"
"""The same as in pictures: it comes with their library, may be embedded, and covers every language."""

Block = dict[str, Any]


def press(blocks: Sequence[Block], *, title: str, paper: Paper = "a4", foot: Message | str = "") -> bytes:
    """Return a PDF.

    Parameters
    ----------
    blocks : sequence of Block
        Blocks from `coldfield.paper.blocks`, from top to bottom.
    title : str
        The title of the document, also shown at the foot of each page.
    paper : {'a4', 'us-letter'}
        Size of the sheet, in portrait.
    foot : Message or str
        Text at the foot of each page beside the page number.
    """
    import typst

    files: dict[str, bytes] = {}
    sheet = {
        "title": title,
        "short": title if len(title) <= 26 else title[:25].rstrip() + "…",
        "paper": paper,
        "margin": MARGIN_MM,
        "font": FONT,
        "lang": languages()[spoken_now()].locale.split("-")[0],
        "foot": foot if isinstance(foot, str) else say(foot),
        "colours": TOKENS["light"],
        "blocks": _with_files(list(blocks), files),
    }
    template = resources("coldfield.paper").joinpath("page.typ").read_bytes()
    made = typst.compile(  # type: ignore[call-overload]
        {"main.typ": template, "data.json": json.dumps(sheet).encode(), **files},
        format="pdf",
        font_paths=[str(_fonts())],
        ignore_system_fonts=True,
        pdf_standards="ua-1",
    )
    assert isinstance(made, bytes)
    return made


def _with_files(block: Any, files: dict[str, bytes]) -> Any:
    """Return blocks whose pictures refer to files instead of containing them; the files go into `files`.

    A picture is put into an SVG, because the compiler takes files as text.
    """
    if isinstance(block, list):
        return [_with_files(one, files) for one in block]
    if not isinstance(block, dict):
        return block
    if "jpeg" not in block:
        return {key: _with_files(value, files) for key, value in block.items()}
    name, size = f"picture-{len(files)}.svg", f'width="{block["wide"]}" height="{block["tall"]}"'
    files[name] = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<image {size} preserveAspectRatio="none" href="data:image/jpeg;base64,{block["jpeg"]}"/></svg>'
    ).encode()
    return {key: value for key, value in block.items() if key != "jpeg"} | {"file": name}


def pages(pdf: bytes) -> int:
    """Return the number of pages of a PDF made by `press`."""
    counted = re.search(rb"/Type/Pages\b[^>]*?/Count (\d+)", pdf)
    assert counted
    return int(counted[1])


def _fonts() -> Path:
    import matplotlib

    return Path(matplotlib.get_data_path()) / "fonts" / "ttf"
