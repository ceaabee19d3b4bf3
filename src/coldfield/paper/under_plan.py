"""The picture of the ground under a plan on paper: redrawn with north up, as strong as on the screen."""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from io import BytesIO

import numpy as np
from PIL import Image

from coldfield.paper.drawing import Frame
from coldfield.paper.press import Block

PIXELS_PER_MM = 6.0
"""About 150 dots per inch, as fine as a photo prints. Setting."""

PRINTED = 0.6
"""Strength in print of a picture that shows in full on the screen, so that figures stay readable. Setting."""

QUALITY = 80
"""Quality of the JPEG in the sheet. Setting."""


@dataclass(frozen=True, slots=True)
class Under:
    """A picture under a plan.

    `content` is a PNG or JPEG. `matrix` is six numbers a to f: the pixel in column x and row y lies
    a x + b y + c metres east and d x + e y + f metres north of the origin. `shown` is its strength, 0 to 1.
    """

    content: bytes
    matrix: tuple[float, ...]
    shown: float


def picture_shape(under: Under, frame: Frame) -> Block:
    """Return the picture over the whole drawing, in pixels of 1/6 mm, white where it does not reach."""
    size = (round(frame.width_mm * PIXELS_PER_MM), round(frame.height_mm * PIXELS_PER_MM))
    with Image.open(BytesIO(under.content)) as opened:
        picture = opened.convert("RGBA")
    turned = picture.transform(
        size, Image.Transform.AFFINE, _from_paper(under.matrix, frame), Image.Resampling.BILINEAR
    )
    sheet = Image.new("RGB", size, "white")
    strength = turned.getchannel("A").point(lambda value: round(value * under.shown * PRINTED))
    sheet.paste(turned.convert("RGB"), (0, 0), strength)
    written = BytesIO()
    sheet.save(written, "JPEG", quality=QUALITY)
    return {
        "kind": "picture",
        "jpeg": b64encode(written.getvalue()).decode(),
        "wide": frame.width_mm,
        "tall": frame.height_mm,
    }


def _from_paper(matrix: tuple[float, ...], frame: Frame) -> tuple[float, ...]:
    """Return the map from a pixel of the drawing to one of the picture, in the form for Pillow."""
    a, b, c, d, e, f = matrix
    lies = np.array([[a, b, c], [d, e, f], [0.0, 0.0, 1.0]])
    step_m = 1.0 / (PIXELS_PER_MM * frame.mm_per_m)
    paper = np.array([[step_m, 0.0, frame.west_m], [0.0, -step_m, frame.north_m], [0.0, 0.0, 1.0]])
    return tuple((np.linalg.inv(lies) @ paper)[:2].ravel().tolist())
