"""The picture of the ground in exported files keeps its place and is small enough."""

from __future__ import annotations

from base64 import b64decode
from io import BytesIO
from typing import Any

import numpy as np
import pytest
from PIL import Image

from coldfield.files.carried_picture import (
    IN_A_PAGE,
    MOST_ADDRESS,
    ON_A_PHONE,
    Bound,
    CarriedPicture,
    PhonePicture,
    Under,
    carried,
)

GROUND = [(0.0, 0.0), (60.0, 0.0), (60.0, 80.0), (0.0, 80.0)]
TURNED = (0.08, 0.06, -90.0, 0.06, -0.08, 100.0)
"""0.1 m per pixel, rotated by about 37 degrees."""


def written(image: Image.Image, form: str = "PNG", **more: Any) -> bytes:
    out = BytesIO()
    image.save(out, form, **more)
    return out.getvalue()


def opened(made: CarriedPicture) -> Image.Image:
    return Image.open(BytesIO(b64decode(made.address.partition(",")[2])))


@pytest.mark.parametrize("bound", [IN_A_PAGE, ON_A_PHONE])
def test_independent_route_a_mark_in_the_picture_stays_at_its_place_on_the_ground(bound: Bound) -> None:
    place = np.array([41.0, 23.0])
    a, b, c, d, e, f = TURNED
    column, row = np.linalg.solve([[a, b], [d, e]], place - (c, f))
    pixels = np.full((1600, 2400, 3), 235, dtype=np.uint8)
    pixels[round(row) - 8 : round(row) + 8, round(column) - 8 : round(column) + 8] = (200, 20, 20)
    made = carried(Under(written(Image.fromarray(pixels)), TURNED, 0.7), GROUND, bound)
    assert made is not None
    seen = np.asarray(opened(made).convert("RGB")).astype(int)
    rows, columns = np.nonzero(seen[..., 0] - seen[..., 1] > 100)
    at = np.array([columns.mean() + 0.5, rows.mean() + 0.5, 1.0])
    there = np.array(made.matrix).reshape(2, 3) @ at
    step_m = float(np.hypot(made.matrix[0], made.matrix[3]))
    np.testing.assert_allclose(there, place, atol=max(0.1, step_m))
    assert max(opened(made).size) <= bound.side_px
    assert opened(made).size == (made.width_px, made.height_px)


@pytest.mark.parametrize("bound", [IN_A_PAGE, ON_A_PHONE, Bound(720, 3_000)])
def test_contract_not_even_noise_is_larger_than_it_may_be(bound: Bound) -> None:
    noise = np.random.default_rng(7).integers(0, 256, (1200, 1200, 3), dtype=np.uint8)
    under = Under(
        written(Image.fromarray(noise), "JPEG", quality=95), (0.1, 0.0, -30.0, 0.0, -0.1, 100.0), 1.0
    )
    made = carried(under, GROUND, bound)
    assert made is not None
    assert len(b64decode(made.address.partition(",")[2])) <= bound.most_bytes
    if bound == ON_A_PHONE:
        assert len(made.address) <= MOST_ADDRESS
        assert PhonePicture(**made.model_dump()).address == made.address


def test_contract_only_pixels_of_the_ground_come_along() -> None:
    exif = Image.Exif()
    exif[0x010F] = "Maker of the camera"
    photo = Image.new("RGB", (4000, 3000), (90, 120, 90))
    under = Under(written(photo, "JPEG", exif=exif, comment=b"by Ines"), (0.5, 0, -970, 0, -0.5, 790), 0.7)
    made = carried(under, GROUND, IN_A_PAGE)
    assert made is not None
    picture = opened(made)
    assert not picture.getexif()
    assert picture.info.keys() <= {"background", "loop", "duration", "timestamp"}
    # The ground of 60 m by 80 m with a margin of 40 m, at 0.5 m per pixel.
    assert picture.size == (280, 320)


def test_contract_holes_stay_holes_and_a_picture_of_elsewhere_is_left_out() -> None:
    holed = Image.new("RGBA", (200, 200), (90, 120, 90, 255))
    holed.paste((0, 0, 0, 0), (0, 0, 100, 200))
    made = carried(Under(written(holed), (1.0, 0, -70, 0, -1.0, 140), 0.7), GROUND, IN_A_PAGE)
    assert made is not None
    assert opened(made).mode == "RGBA"
    assert opened(made).getchannel("A").getextrema() == (0, 255)
    elsewhere = Under(written(holed), (1.0, 0, 5000, 0, -1.0, 140), 0.7)
    assert carried(elsewhere, GROUND, IN_A_PAGE) is None
