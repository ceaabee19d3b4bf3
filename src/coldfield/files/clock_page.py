"""The clock's page for the phone: served by Coldfield, for any https host, or with one run in it.

A page beside it reads codes with the camera and shows codes for the way back (`frontend/src/codes`). Only
that page may run WebAssembly: the reader in `codes.wasm`, loaded with the camera.
"""

from __future__ import annotations

import json
from hashlib import sha256

from coldfield.files.day_model import RunLine
from coldfield.files.one_page import POLICY_MARK, built_bytes, built_page, embedded, filled, policy
from coldfield.files.page_words import words_mark
from coldfield.words import languages

_RUN_MARK = '<script type="application/json" id="carried-run"></script>'
_INSTALLED_MARK = "<!-- installed -->"
_CLOCK_MARK = '<meta name="clock" content="./" />'
_WORKER_MARK = "'VERSION'"
_LINKS = (
    '<link rel="manifest" href="clock.webmanifest" /><link rel="icon" href="icon.svg" />'
    '<link rel="apple-touch-icon" href="icon-192.png" />'
)
_CODES = '<meta name="codes" content="{}" />'
_SHARED = ("img-src 'self' data:", "manifest-src 'self'", "worker-src 'self'", "connect-src 'self'")
_SERVED = ("img-src data:", "connect-src 'self'")
ICON_SIZES = (192, 512)


def clock_html(
    *,
    run: RunLine | None = None,
    installed: bool = False,
    served: bool = False,
    codes: str = "",
    template: str | None = None,
) -> str:
    """Return the clock as one page that needs no other file.

    Parameters
    ----------
    run : RunLine, optional
        A prepared run to include in the page. It contains names and burial places.
    installed : bool
        Whether the page refers to a manifest and a service worker, so that a phone can install it.
    served : bool
        Whether Coldfield itself serves it, so that it may send its entries there.
    codes : str
        The address of the page of codes; without one the clock says that it cannot read codes.
    template : str, optional
        The built page; by default the one in the package.

    Raises
    ------
    UnknownRecord
        If the page has not been built into the package.
    Refused
        If the template is not a built clock page.
    """
    page = built_page("clock.html", "clock") if template is None else template
    carried = _RUN_MARK if run is None else embedded(_RUN_MARK, run.model_dump(), "run")
    marks = (
        (POLICY_MARK, policy(page, *(_SHARED if installed else _SERVED if served else ()))),
        (_INSTALLED_MARK, (_LINKS if installed else "") + (_CODES.format(codes) if codes else "")),
        words_mark(page, languages(), "clock"),
        (_RUN_MARK, carried),
    )
    return filled(page, marks, "clock")


def codes_html(clock: str = "./") -> str:
    """Return the page of codes that belongs beside the clock at an address, along with `codes_reader`.

    Raises
    ------
    UnknownRecord
        If the page has not been built into the package.
    """
    page = built_page("codes.html", "codes")
    stated = policy(page, "img-src data:", "connect-src 'self'", scripts_too="'wasm-unsafe-eval'")
    marks = (
        (POLICY_MARK, stated),
        (_CLOCK_MARK, _CLOCK_MARK.replace("./", clock)),
        words_mark(page, languages(), "codes"),
    )
    return filled(page, marks, "codes")


def codes_reader() -> bytes:
    """Return the reader of codes (ZXing in WebAssembly).

    Raises
    ------
    UnknownRecord
        If it has not been built into the package.
    """
    return built_bytes("codes.wasm", "codes")


def installable_files(icon_pngs: dict[int, bytes], icon_svg: str) -> dict[str, bytes]:
    """Return the files of an installable clock by name; they contain no run.

    Parameters
    ----------
    icon_pngs : dict
        The icon as PNG, by its width in pixels: one for each of `ICON_SIZES`.
    icon_svg : str
        The same as SVG.
    """
    files = {
        "index.html": clock_html(installed=True, codes="codes.html").encode(),
        "codes.html": codes_html().encode(),
        "codes.wasm": codes_reader(),
        "clock.webmanifest": _manifest().encode(),
        "icon.svg": icon_svg.encode(),
        **{f"icon-{size}.png": icon_pngs[size] for size in ICON_SIZES},
    }
    # The worker's text changes with any of the files, so a phone notices a newer clock.
    version = sha256(b"".join(files[name] for name in sorted(files))).hexdigest()[:16]
    worker = built_page("clock-worker.js", "clock")
    files["sw.js"] = filled(worker, [(_WORKER_MARK, f"'{version}'")], "clock").encode()
    return files


def _manifest() -> str:
    icons = [{"src": "icon.svg", "sizes": "any", "type": "image/svg+xml"}]
    icons += [{"src": f"icon-{n}.png", "sizes": f"{n}x{n}", "type": "image/png"} for n in ICON_SIZES]
    return json.dumps(
        {
            "name": "Coldfield clock",
            "short_name": "Coldfield clock",
            "description": "Times drills of companion rescue. For training only.",
            "start_url": "./",
            "scope": "./",
            "display": "standalone",
            "background_color": "#F6F4EE",
            "theme_color": "#F6F4EE",
            "icons": icons,
        },
        indent=1,
    )
