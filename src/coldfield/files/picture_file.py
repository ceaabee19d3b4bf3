"""Pictures of the ground: PNG and JPEG, and GeoTIFF with the optional extra 'elevation'.

The stored file is written from the pixels only. EXIF, comments, thumbnails and colour profiles, which may
reveal a place, a time, a device or a person, are not kept.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from coldfield.errors import BadInput
from coldfield.files.elevation import FARTHEST, MOST_CELL
from coldfield.files.geotiff import opened_geotiff
from coldfield.message import message, size, verbatim

MOST_PICTURE_BYTES = 32_000_000
"""The largest file of a picture, as received and as stored, bytes. Setting."""

MOST_PIXELS = 16_000_000
"""The greatest number of pixels, such as 4,000 by 4,000. Setting."""

MOST_SIDE, LEAST_SIDE = 8_000, 16
"""The longest and the shortest side, pixels. Settings."""

_MOST_SCANS = 100
"""A progressive JPEG has about ten scans; one with thousands would take hours. Setting."""

_QUALITY = 88
_TIFF = (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+")
_PLAIN = frozenset(("1", "L", "LA", "P", "PA", "RGB", "RGBA", "CMYK", "YCbCr"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """The place given by a file: x = a column + b row + c, y = d column + e row + f, in its own system."""

    matrix: tuple[float, float, float, float, float, float]
    crs: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PictureFile:
    """A rewritten picture: bytes, format, size in pixels, and its place if the file gives one."""

    content: bytes
    ending: Literal["png", "jpg"]
    width_px: int
    height_px: int
    placed: Placed | None


def read_picture(data: bytes, source: str) -> PictureFile:
    """Return the picture in a file, rewritten so that only its pixels are kept.

    Its size is checked before anything is unpacked, so that a few bytes that would expand to gigabytes are
    refused.

    Raises
    ------
    BadInput
        If the file is none of the three, is damaged or too large, or is a GeoTIFF and the extra is missing.
    """
    if len(data) > MOST_PICTURE_BYTES:
        raise BadInput(message("fault.picture_bytes", most=size(MOST_PICTURE_BYTES)), source)
    if data[:4] in _TIFF:
        return _geotiff(data, source)
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return _picture(data, "PNG", source)
    if data[:3] == b"\xff\xd8\xff":
        return _picture(data, "JPEG", source)
    raise BadInput(message("fault.not_a_picture"), source)


def _picture(data: bytes, form: str, source: str) -> PictureFile:
    if form == "JPEG" and data.count(b"\xff\xda") > _MOST_SCANS:
        raise BadInput(message("fault.picture_broken", why=verbatim("too many scans")), source)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=[form]) as opened:
                _refuse_size(*opened.size, source)
                if opened.mode not in _PLAIN:
                    raise BadInput(message("fault.picture_depth"), source)
                opened.load()
                return _written(ImageOps.exif_transpose(opened), lossless=form == "PNG", source=source)
    except BadInput:
        raise
    except Image.DecompressionBombError:
        raise BadInput(message("fault.picture_bomb", most=MOST_PIXELS), source) from None
    except Exception as error:  # a damaged file can break the library in many ways; all are one fault
        words = next(iter(str(error).splitlines()), type(error).__name__)
        raise BadInput(message("fault.picture_broken", why=verbatim(words[:120])), source) from None


def _refuse_size(width: int, height: int, source: str) -> None:
    told = {"width": width, "height": height}
    if width * height > MOST_PIXELS or max(width, height) > MOST_SIDE:
        raise BadInput(message("fault.picture_pixels", **told, most=MOST_PIXELS, side=MOST_SIDE), source)
    if min(width, height) < LEAST_SIDE:
        raise BadInput(message("fault.picture_small", **told, least=LEAST_SIDE), source)


def _written(image: Image.Image, *, lossless: bool, source: str, placed: Placed | None = None) -> PictureFile:
    """Return rewritten pixels; as PNG if they have holes or were lossless, unless that is too large."""
    holes = "A" in image.getbands() or "transparency" in image.info
    bare = image.convert("RGBA" if holes else "L" if image.mode in ("1", "L") else "RGB")
    bare.info.clear()
    out = io.BytesIO()
    if holes or lossless:
        bare.save(out, "PNG")
    if not out.tell() or (out.tell() > MOST_PICTURE_BYTES and not holes):
        lossless, out = holes, io.BytesIO()
        bare.save(out, "JPEG", quality=_QUALITY)
    if out.tell() > MOST_PICTURE_BYTES:
        raise BadInput(message("fault.picture_bytes", most=size(MOST_PICTURE_BYTES)), source)
    return PictureFile(
        content=out.getvalue(),
        ending="png" if holes or lossless else "jpg",
        width_px=bare.width,
        height_px=bare.height,
        placed=placed,
    )


def _geotiff(data: bytes, source: str) -> PictureFile:
    with opened_geotiff(
        data,
        source,
        lacking=message("fault.picture_needs_extra"),
        broken=lambda why: message("fault.picture_broken", why=why),
    ) as dataset:
        image = _bands(dataset, source)
        return _written(image, lossless=False, source=source, placed=_placed(dataset))


def _bands(dataset: Any, source: str) -> Image.Image:
    """Return the pixels of a GeoTIFF (grey, a palette, or red, green and blue), with its holes."""
    _refuse_size(dataset.width, dataset.height, source)
    tile = dataset.block_shapes[0] if dataset.count else (1, 1)
    if tile[0] * tile[1] > MOST_PIXELS:
        raise BadInput(message("fault.tiles", columns=tile[1], rows=tile[0]), source)
    if dataset.count not in (1, 2, 3, 4) or any(kind != "uint8" for kind in dataset.dtypes):
        raise BadInput(message("fault.picture_depth"), source)
    names = [one.name for one in dataset.colorinterp]
    if dataset.count == 1 and names == ["palette"]:
        table = np.zeros((256, 4), dtype=np.uint8)
        for k, colour in dataset.colormap(1).items():
            table[k] = colour
        return _holed(Image.fromarray(table[dataset.read(1)][..., :3]), dataset)
    colours = 3 if dataset.count >= 3 else 1
    found = dataset.read(list(range(1, colours + 1)))
    return _holed(Image.fromarray(np.ascontiguousarray(found.transpose(1, 2, 0)).squeeze()), dataset)


def _holed(image: Image.Image, dataset: Any) -> Image.Image:
    mask: NDArray[np.uint8] = dataset.dataset_mask()
    if not (mask == 255).all():
        image = image.convert("RGB")
        image.putalpha(Image.fromarray(mask))
    return image


def _placed(dataset: Any) -> Placed | None:
    """Return the place given by a GeoTIFF; None if it gives none, or none on Earth."""
    t = dataset.transform
    sides = [np.hypot(t.a, t.d), np.hypot(t.b, t.e)]
    on_earth = max(abs(t.c), abs(t.f)) <= FARTHEST and min(sides) > 1e-9 and max(sides) <= MOST_CELL
    try:
        found = dataset.crs
        code, wkt = (found.to_epsg(), str(found.to_wkt())) if found else (None, "")
    except Exception:  # a name that is no text, a code that nobody gave: the library tells in many ways
        return None
    if not (on_earth and (code or wkt)) or t.is_identity:
        return None
    matrix = (float(t.a), float(t.b), float(t.c), float(t.d), float(t.e), float(t.f))
    return Placed(matrix=matrix, crs=f"EPSG:{code}" if code else wkt)
