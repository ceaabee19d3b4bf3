"""The picture of the ground in an exported file: cropped, re-encoded and small enough."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike
from PIL import Image
from pydantic import Field

from coldfield.drill.laid_picture import six
from coldfield.files.drill_model import Part

AROUND = 0.5
"""Margin round the ground, as a share of its longer side. Setting."""

QUALITIES = (80, 60, 40)
"""Tried in this order before a picture gets fewer pixels. Settings."""

SMALLER = 0.75
"""Factor for the sides, each time that no quality is small enough. Setting."""

LEAST_BYTES = 1000
"""A picture of one pixel weighs some 600 bytes, whatever was asked for."""

_HEAD = "data:image/webp;base64,"
ADDRESS = rf"^{_HEAD}[A-Za-z0-9+/]+=*$"
"""The picture itself, never a place to fetch it from."""


@dataclass(frozen=True, slots=True)
class Under:
    """A picture placed under a plan.

    `content` is a PNG or JPEG; `matrix` a, b, c, d, e, f, with which column x and row y lie a x + b y + c
    metres east and d x + e y + f metres north; `shown` how strongly it shows, 0 to 1.
    """

    content: bytes
    matrix: tuple[float, ...]
    shown: float


@dataclass(frozen=True, slots=True)
class Bound:
    """How large a carried picture may be: its longer side, pixels, and its file, bytes."""

    side_px: int
    most_bytes: int


IN_A_PAGE = Bound(1600, 250_000)
"""In a debrief as one file, which weighs about 450 kB without it. Setting."""

ON_A_PHONE = Bound(720, 48_000)
"""In a run for the phone, whose plan is 340 points wide: two pixels a point. Setting."""


MOST_ADDRESS = len(_HEAD) + -(-ON_A_PHONE.most_bytes // 3) * 4


class CarriedPicture(Part):
    """A picture of the ground placed under a plan; `address` contains the picture itself, as WebP.

    `matrix` is that of the record of a picture; `shown` how strongly it shows, 0 to 1.
    """

    address: Annotated[str, Field(pattern=ADDRESS)]
    width_px: Annotated[int, Field(ge=1, le=IN_A_PAGE.side_px)]
    height_px: Annotated[int, Field(ge=1, le=IN_A_PAGE.side_px)]
    matrix: Annotated[list[Annotated[float, Field(ge=-1e6, le=1e6)]], Field(min_length=6, max_length=6)]
    shown: Annotated[float, Field(ge=0, le=1)]


class PhonePicture(CarriedPicture):
    """One that is small enough for a phone."""

    address: Annotated[str, Field(pattern=ADDRESS, max_length=MOST_ADDRESS)]


def carried(under: Under, ground_m: ArrayLike, bound: Bound) -> CarriedPicture | None:
    """Return what a picture shows of the ground and round it, within the bounds; None where it shows nothing.

    Only pixels are written: nothing else that a file may tell comes along.

    Parameters
    ----------
    under : Under
        The picture as it lies.
    ground_m : array_like, shape (n, 2)
        The corners of the ground, metres east and north.
    bound : Bound
        How large it may be.
    """
    corners = np.asarray(ground_m, dtype=np.float64).reshape(-1, 2)
    low, high = corners.min(axis=0), corners.max(axis=0)
    low, high = low - AROUND * np.max(high - low), high + AROUND * np.max(high - low)
    a, b, c, d, e, f = under.matrix
    lies = np.array([[a, b], [d, e]])
    box = np.array([low, high, [low[0], high[1]], [high[0], low[1]]]) - (c, f)
    pixel = np.linalg.solve(lies, box.T).T
    with Image.open(BytesIO(under.content)) as opened:
        first = np.maximum(np.floor(pixel.min(axis=0)), 0).astype(int)
        last = np.minimum(np.ceil(pixel.max(axis=0)), opened.size).astype(int)
        if (last <= first).any():
            return None
        part = opened.convert("RGBA" if "A" in opened.getbands() else "RGB").crop((*first, *last))

    def drawn(scale: float) -> Image.Image:
        width, height = (max(1, round(side * scale)) for side in part.size)
        return part.resize((width, height), Image.Resampling.LANCZOS)

    whole = min(1.0, bound.side_px / max(part.size))
    small, content = small_enough(drawn, "WEBP", bound.most_bytes, scale=whole)
    step = np.array(part.size) / small
    east, north = lies @ first + (c, f)
    matrix = np.column_stack([lies * step, [east, north]])
    return CarriedPicture(
        address=_HEAD + b64encode(content).decode(),
        width_px=small[0],
        height_px=small[1],
        matrix=list(six(matrix)),
        shown=under.shown,
    )


def small_enough(
    drawn: Callable[[float], Image.Image], form: str, most_bytes: int, *, scale: float = 1.0
) -> tuple[tuple[int, int], bytes]:
    """Return the size of a picture and its file, in the best quality that fits into a number of bytes.

    `drawn` returns the picture at a scale, which starts at `scale`; `form` is Pillow's name of the file's.
    """
    while True:
        picture = drawn(scale)
        for quality in QUALITIES:
            out = BytesIO()
            picture.save(out, form, quality=quality)
            if out.tell() <= max(most_bytes, LEAST_BYTES):
                return picture.size, out.getvalue()
        scale *= SMALLER
