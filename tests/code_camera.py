"""Codes as seen by a camera, and a reader that Coldfield does not ship (OpenCV)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import cv2
import numpy as np

from coldfield.files.code_picture import dark_bars

FLARE = 0.5
"""How far glare moves the brightest spot towards white."""


def drawn(text: str, px: int = 6) -> np.ndarray:
    """Draw the code of a text as Coldfield does on paper and screen: black on white, `px` pixels per square."""
    size, bars = dark_bars(text)
    picture = np.full((size, size), 255, np.uint8)
    for row, start, end in bars:
        picture[row, start:end] = 0
    return np.kron(picture, np.ones((px, px), np.uint8))


def seen(
    picture: np.ndarray,
    *,
    tilt_deg: float = 30.0,
    turn_deg: float = 8.0,
    blur: float = 0.3,
    contrast: float = 3.0,
    squares: int,
    noise: float = 3.0,
) -> np.ndarray:
    """Return a picture as a camera may see it: tilted, turned, out of focus, pale, in glare, with noise.

    Parameters
    ----------
    tilt_deg : float
        Turned about its upright axis, seen from two and a half widths away.
    blur : float
        Standard deviation of the blur, in squares of the code.
    contrast : float
        Light to dark as WCAG 2.2 defines it, (L1 + 0.05) / (L2 + 0.05).
    squares : int
        The width of the picture in squares.
    """
    wide = picture.shape[0]
    side = int(1.5 * wide)
    tilt, turn = np.radians((tilt_deg, turn_deg))
    about_y = np.array([[np.cos(tilt), 0, np.sin(tilt)], [0, 1, 0], [-np.sin(tilt), 0, np.cos(tilt)]])
    about_z = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    flat = 0.5 * wide * np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]])
    placed = flat @ (about_z @ about_y).T
    away = 2.5 * wide
    to = (placed[:, :2] * (away / (away + placed[:, 2:])) + 0.5 * side).astype(np.float32)
    corners = np.array([[0, 0], [wide, 0], [wide, wide], [0, wide]], np.float32)
    lens = cv2.getPerspectiveTransform(corners, to)
    light = cv2.warpPerspective(
        picture.astype(np.float32), lens, (side, side), flags=cv2.INTER_AREA, borderValue=255
    )
    bright = 0.75
    dark = (bright + 0.05) / contrast - 0.05
    light = _srgb(dark) + (_srgb(bright) - _srgb(dark)) * light / 255
    y, x = np.mgrid[:side, :side]
    spot = np.exp(-((x - 0.62 * side) ** 2 + (y - 0.4 * side) ** 2) / (2 * (0.12 * side) ** 2))
    light = light + (255 - light) * FLARE * spot
    if blur:
        light = cv2.GaussianBlur(light, (0, 0), blur * wide / squares)
    grain = np.random.default_rng(0).normal(0, noise, light.shape)
    return np.clip(light + grain, 0, 255).astype(np.uint8)


def _srgb(luminance: float) -> float:
    """Return the sRGB value (0 to 255) of a relative luminance (IEC 61966-2-1, from memory)."""
    return 255 * (1.055 * luminance ** (1 / 2.4) - 0.055)


def read(picture: np.ndarray) -> str:
    """Return the text of a code in a picture, or ''; it tries a few variants, as a camera takes many frames."""
    for look in _looks(picture):
        text, _, _ = cv2.QRCodeDetectorAruco().detectAndDecode(look)
        if text:
            return str(text)
    return ""


def _looks(picture: np.ndarray) -> Iterator[np.ndarray]:
    yield picture
    yield cv2.resize(picture, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    light = picture.astype(np.float32)
    mean = cv2.GaussianBlur(light, (0, 0), 40)
    spread = np.sqrt(cv2.GaussianBlur((light - mean) ** 2, (0, 0), 40)) + 4
    even = np.clip(128 + 60 * (light - mean) / spread, 0, 255).astype(np.uint8)
    yield even
    twice = cv2.resize(even, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    yield twice
    soft = cv2.GaussianBlur(twice, (0, 0), 3).astype(np.float32)
    yield np.clip(2.0 * twice - soft, 0, 255).astype(np.uint8)


def film(path: Path, pictures: Sequence[np.ndarray], *, wide: int = 1280, tall: int = 720) -> None:
    """Write pictures as a film for Chromium's fake camera (YUV4MPEG2, 4:2:0), four per second, in turn."""
    with path.open("wb") as out:
        out.write(f"YUV4MPEG2 W{wide} H{tall} F4:1 Ip A1:1 C420\n".encode())
        for picture in pictures:
            scale = min(wide / picture.shape[1], tall / picture.shape[0])
            fitted = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
            light = np.full((tall, wide), 200, np.uint8)
            top, left = (tall - fitted.shape[0]) // 2, (wide - fitted.shape[1]) // 2
            light[top : top + fitted.shape[0], left : left + fitted.shape[1]] = fitted
            out.write(b"FRAME\n" + light.tobytes() + bytes([128]) * (wide * tall // 2))
