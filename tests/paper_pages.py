"""Read PDFs back: their text, fonts and pages as pictures."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from pypdf import PdfReader

A4_MM, LETTER_MM = (210.0, 297.0), (215.9, 279.4)


def words_of(pdf: bytes) -> str:
    """Return all words of a PDF, with single spaces."""
    return " ".join(pages_of(pdf))


def squeezed(text: str) -> str:
    """Return a text without spaces and hyphens, because lines of a narrow column can end anywhere."""
    return re.sub(r"[\s\u00ad\u2010-]", "", text)


def pages_of(pdf: bytes) -> list[str]:
    """Return the words of each page."""
    read = PdfReader(io.BytesIO(pdf))
    # Join words that were hyphenated at the end of a line.
    parted = (re.sub(r"\u00ad\s*", "", page.extract_text()) for page in read.pages)
    return [" ".join(re.sub(r"(?<=\w)-\n", "-", text).split()) for text in parted]


def drawn(pdf: bytes, *, page: int = 1, dpi: int = 200, grey: bool = True) -> NDArray[np.uint8]:
    """Return a page as a picture, darkness as numbers."""
    tool = shutil.which("pdftoppm")
    if tool is None:
        pytest.skip("pdftoppm is not installed")
    from PIL import Image

    with tempfile.TemporaryDirectory() as name:
        (Path(name) / "a.pdf").write_bytes(pdf)
        colour = ["-gray"] if grey else []
        subprocess.run(
            [
                tool,
                "-r",
                str(dpi),
                "-f",
                str(page),
                "-l",
                str(page),
                "-png",
                *colour,
                f"{name}/a.pdf",
                f"{name}/p",
            ],
            check=True,
        )
        return np.asarray(Image.open(next(Path(name).glob("p*.png"))).convert("L" if grey else "RGB"))


def check_form(pdf: bytes, size_mm: tuple[float, float], language: str) -> None:
    """Check a sheet: size, embedded fonts, tags with language and title, below 1 MB, no half-empty page."""
    assert len(pdf) < 1_000_000
    read = PdfReader(io.BytesIO(pdf))
    root = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or bool(root["/MarkInfo"]["/Marked"])
    assert str(root["/Lang"]).startswith(language)
    assert read.metadata is not None
    assert read.metadata.title
    assert b"pdfuaid" in root["/Metadata"].get_data()
    for page in read.pages:
        size = [float(v) * 25.4 / 72 for v in page.mediabox[2:]]
        assert size == pytest.approx(list(size_mm), abs=0.2)
        for font in page["/Resources"].get("/Font", {}).values():
            inside = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert {"/FontFile2", "/FontFile3"} & set(inside.keys())


def lowest_ink(pdf: bytes, page: int) -> float:
    """Return how far down a page its content reaches, as a share of its height, without the footer."""
    picture = drawn(pdf, page=page, dpi=40)
    rows = np.flatnonzero((picture < 200).any(axis=1))
    height = len(picture)
    above_foot = rows[rows < 0.94 * height]
    return float(above_foot.max() / height)
