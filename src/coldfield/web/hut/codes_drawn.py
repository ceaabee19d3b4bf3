"""A text as a QR code for a screen."""

from __future__ import annotations

import io

import segno


def qr_svg(text: str) -> str:
    """Return a text as a QR code, level M, dark on white with its quiet zone."""
    made, out = segno.make_qr(text, error="m", boost_error=False), io.BytesIO()
    made.save(out, kind="svg", xmldecl=False, omitsize=True, border=4, dark="#000000", light="#ffffff")
    return out.getvalue().decode()
