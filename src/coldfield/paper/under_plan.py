"""The picture of the ground under a plan on paper: redrawn with north up, as strong as on the screen."""

from __future__ import annotations

from base64 import b64encode
from io import BytesIO

import numpy as np
from PIL import Image

from coldfield.files.carried_picture import Under, small_enough
from coldfield.paper.drawing import Frame
from coldfield.paper.press import Block

PIXELS_PER_MM = 6.0
"""About 150 dots per inch, as fine as a photo prints. Setting."""

PRINTED = 0.6
"""Strength in print of a picture that shows in full on the screen, so that figures stay readable. Setting."""

PAPER_BYTES, PHONE_BYTES = 250_000, 60_000
"""How much the picture may add to a sheet of paper, and to a page that a phone loads. Settings."""


def picture_shape(under: Under, frame: Frame, *, most_bytes: int = PAPER_BYTES) -> Block:
    """Return the picture over the whole drawing, white where it does not reach.

    It is drawn to a pixel of 1/6 mm, or a larger one where it would take more than `most_bytes`.
    """
    with Image.open(BytesIO(under.content)) as opened:
        picture = opened.convert("RGBA")
    _, jpeg = small_enough(lambda scale: _drawn(picture, under, frame, scale), "JPEG", most_bytes)
    return {
        "kind": "picture",
        "jpeg": b64encode(jpeg).decode(),
        "wide": frame.width_mm,
        "tall": frame.height_mm,
    }


def _drawn(picture: Image.Image, under: Under, frame: Frame, scale: float) -> Image.Image:
    fine = PIXELS_PER_MM * scale
    size = (max(1, round(frame.width_mm * fine)), max(1, round(frame.height_mm * fine)))
    turned = picture.transform(
        size, Image.Transform.AFFINE, _from_paper(under.matrix, frame, fine), Image.Resampling.BILINEAR
    )
    sheet = Image.new("RGB", size, "white")
    strength = turned.getchannel("A").point(lambda value: round(value * under.shown * PRINTED))
    sheet.paste(turned.convert("RGB"), (0, 0), strength)
    return sheet


def _from_paper(matrix: tuple[float, ...], frame: Frame, fine: float) -> tuple[float, ...]:
    """Return how a pixel of the drawing, of which `fine` make a mm, is found in the picture: for Pillow."""
    a, b, c, d, e, f = matrix
    lies = np.array([[a, b, c], [d, e, f], [0.0, 0.0, 1.0]])
    step_m = 1.0 / (fine * frame.mm_per_m)
    paper = np.array([[step_m, 0.0, frame.west_m], [0.0, -step_m, frame.north_m], [0.0, 0.0, 1.0]])
    return tuple((np.linalg.inv(lies) @ paper)[:2].ravel().tolist())
