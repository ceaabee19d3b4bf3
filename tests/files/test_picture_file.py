"""Pictures are re-encoded from their pixels; too large ones are refused before decompression."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from coldfield.errors import BadInput
from coldfield.files.bare_picture import bare_size
from coldfield.files.picture_file import read_picture
from example_records import picture
from heavy_files import FILES
from reader_fuzz import geotiff

SECRET = b"Ines at Vardholm Bowl"


def photo(form: str, turned: int = 1) -> bytes:
    """A picture of 40 by 30 with a place, a camera maker and a comment in it, dark on the left."""
    image = Image.open(BytesIO(picture())).convert("RGB")
    exif = Image.Exif()
    exif[0x010F], exif[0x0112] = SECRET.decode(), turned
    exif.get_ifd(0x8825)[2] = (61.0, 12.0, 0.0)
    out = BytesIO()
    image.save(out, form, exif=exif, icc_profile=SECRET, comment=SECRET)
    return out.getvalue()


@pytest.mark.parametrize("form", ["JPEG", "PNG"])
def test_contract_only_the_pixels_of_a_picture_are_kept(form: str) -> None:
    data = photo(form)
    assert SECRET in data or form == "PNG"
    kept = read_picture(data, "a")
    assert bare_size(data) is None
    assert bare_size(kept.content) == (kept.width_px, kept.height_px) == (40, 30)
    again = Image.open(BytesIO(kept.content))
    assert not again.getexif()
    assert not {"exif", "icc_profile", "comment"} & set(again.info)
    assert SECRET not in kept.content
    off = np.abs(np.asarray(again, float) - np.asarray(Image.open(BytesIO(data)), float))
    assert off.max() <= (12 if form == "JPEG" else 0)


def test_contract_a_photo_taken_upright_is_kept_upright() -> None:
    assert (read_picture(photo("JPEG", turned=6), "a").width_px, 30) == (30, 30)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("a PNG that says it is 3 GB", "pixels"),
        ("a PNG that says it is small", "PNG"),
        ("a JPEG of a thousand scans", "scans"),
        ("one tile of 400 million", "tiles"),
    ],
)
def test_contract_what_unfolds_to_far_more_is_refused_or_read_no_further(name: str, words: str) -> None:
    data = FILES["picture"][name]()
    if name == "a PNG that says it is small":
        kept = read_picture(data, "a")
        assert (kept.width_px, kept.height_px) == (4000, 4000)
        return
    with pytest.raises(BadInput, match=words):
        read_picture(data, "a")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not a picture"),
        (b"<svg/>", "not a picture"),
        (picture()[:50], "cannot be read"),
        (picture(width=9), "only 9 by 30"),
        (picture(width=8100, height=20), "8,100 by 20"),
        (geotiff(), "8 bits"),
    ],
)
def test_contract_what_is_no_usable_picture_is_refused_in_words(data: bytes, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read_picture(data, "a.png")


def test_contract_a_geotiff_brings_its_pixels_and_how_they_lie() -> None:
    found = read_picture(geotiff(dtype="uint8"), "a.tif")
    assert found.placed is not None
    assert found.placed.crs == "EPSG:32632"
    assert found.placed.matrix[0] == 15.0
    np.testing.assert_array_equal(np.asarray(Image.open(BytesIO(found.content)))[0, 0], 0)
    assert read_picture(geotiff(dtype="uint8", crs=None), "a.tif").placed is None


def test_contract_a_picture_with_more_than_pixels_is_not_bare() -> None:
    bare = read_picture(photo("JPEG"), "a").content
    assert bare_size(bare) == (40, 30)
    assert bare_size(bare[:-1]) is None
    assert bare_size(bare[:-2] + b"\xff\xe1\x00\x04ab\xff\xd9") is None
    assert bare_size(picture() + SECRET) is None
    assert bare_size(b"") is None
